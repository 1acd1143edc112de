package density

import "gonum.org/v1/gonum/spatial/r2"

// Of so few points in each of two cells all pairs are asked: fewer would make more boxes, more would make more pairs.
const few = 8

// touch tells whether a point of a lies within reach of one of b, limit being the reach squared. It may change the
// order of both.
func touch(a, b []r2.Vec, limit float64) bool {
	for _, p := range a[:min(few, len(a))] { // cells side by side in a crowd: the first few do
		if anyNear(p, b[:min(few, len(b))], limit) {
			return true
		}
	}
	if len(a) <= few && len(b) <= few {
		return false
	}
	return meet(a, b, boxOf(a), boxOf(b), limit)
}

// meet halves the wider box until two are so far apart that no pair can be within reach, or so near that every one is.
// Both are exact, since differences, squares and sums round to what is no less when what they are made of is no less.
func meet(a, b []r2.Vec, in, on r2.Box, limit float64) bool {
	nearest, farthest := between(in, on)
	if dist2(nearest, r2.Vec{}) > limit {
		return false
	}
	if dist2(farthest, r2.Vec{}) <= limit {
		return true
	}
	if len(a)*len(b) <= few*few {
		for _, p := range a {
			if anyNear(p, b, limit) {
				return true
			}
		}
		return false
	}
	if wide, other := in.Size(), on.Size(); max(wide.X, wide.Y) < max(other.X, other.Y) {
		a, b, in, on = b, a, on, in
	}
	n := halve(a, in)
	near, far := a[:n], a[n:]
	nearBox, farBox := boxOf(near), boxOf(far)
	toNear, _ := between(nearBox, on)
	if toFar, _ := between(farBox, on); r2.Norm2(toFar) < r2.Norm2(toNear) {
		near, far, nearBox, farBox = far, near, farBox, nearBox
	}
	return meet(near, b, nearBox, on, limit) || meet(far, b, farBox, on, limit)
}

// halve puts the points in the lower half of their box's longer side before the others, and returns how many.
func halve(points []r2.Vec, in r2.Box) int {
	along := func(p r2.Vec) float64 { return p.X }
	if size := in.Size(); size.Y > size.X {
		along = func(p r2.Vec) float64 { return p.Y }
	}
	low, high := along(in.Min), along(in.Max)
	middle := low + (high-low)/2
	if middle >= high { // nothing lies between them
		middle = low
	}
	n := 0
	for k, p := range points {
		if along(p) <= middle {
			points[n], points[k] = p, points[n]
			n++
		}
	}
	return n
}

func boxOf(points []r2.Vec) r2.Box {
	low, high := points[0], points[0]
	for _, p := range points[1:] {
		low = r2.Vec{X: min(low.X, p.X), Y: min(low.Y, p.Y)}
		high = r2.Vec{X: max(high.X, p.X), Y: max(high.Y, p.Y)}
	}
	return r2.Box{Min: low, Max: high}
}

// between returns the least and the greatest difference in each coordinate of a point of one box and one of the other.
func between(a, b r2.Box) (least, most r2.Vec) {
	up, down := r2.Sub(b.Min, a.Max), r2.Sub(a.Min, b.Max)
	least = r2.Vec{X: max(up.X, down.X, 0), Y: max(up.Y, down.Y, 0)}
	up, down = r2.Sub(b.Max, a.Min), r2.Sub(a.Max, b.Min)
	most = r2.Vec{X: max(up.X, down.X), Y: max(up.Y, down.Y)}
	return least, most
}
