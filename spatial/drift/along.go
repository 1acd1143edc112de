package drift

import (
	"math"

	"gonum.org/v1/gonum/spatial/r2"
)

// Along returns how far along a line, in metres from its start, the point nearest
// to v lies, and how far v is from there; of places as near the first. A place beyond an end is
// nearest to that end. The line must have two points.
func Along(line []r2.Vec, v r2.Vec) (alongM, offM float64) {
	best := math.Inf(1)
	done := 0.0
	for i := 1; i < len(line); i++ {
		d, e := r2.Sub(line[i], line[i-1]), r2.Sub(v, line[i-1])
		n := math.Sqrt(r2.Norm2(d))
		t := 0.0 // of this piece
		if along := r2.Dot(e, d); along >= n*n && n > 0 {
			t = 1
		} else if along > 0 {
			t = along / (n * n)
		}
		if off := r2.Norm2(r2.Sub(e, r2.Scale(t, d))); off < best {
			alongM, best = done+t*n, off
		}
		done += n
	}
	return alongM, math.Sqrt(best)
}

// Beside returns how far along the line, in metres from its start, v lies. It is not ok when v lies beyond either end, or
// more than maxM to a side: Along puts that at the end, or wherever is nearest, and with it what happened there.
func (l Line) Beside(v r2.Vec, maxM float64) (alongM float64, ok bool) {
	n := len(l.Middle)
	first, last := r2.Sub(l.Middle[1], l.Middle[0]), r2.Sub(l.Middle[n-1], l.Middle[n-2])
	alongM, offM := Along(l.Middle, v)
	before := alongM <= 0 && r2.Dot(first, r2.Sub(v, l.Middle[0])) < 0
	after := alongM >= l.LengthM() && r2.Dot(last, r2.Sub(v, l.Middle[n-1])) > 0
	return alongM, !before && !after && offM <= maxM
}

// stretch adds to out n places at even distances along a line, at least two, from one distance to another; beyond an
// end of the line, that end.
func stretch(out, line []r2.Vec, fromM, toM float64, n int) []r2.Vec {
	i, done := 1, 0.0
	d := r2.Sub(line[1], line[0])
	m := r2.Norm(d)
	for k := range n {
		share := float64(k) / float64(n-1)
		u := (1-share)*fromM + share*toM
		for i+1 < len(line) && done+m < u {
			done += m
			i++
			d = r2.Sub(line[i], line[i-1])
			m = r2.Norm(d)
		}
		t := 0.0
		if m > 0 {
			t = max(0, min(1, (u-done)/m))
		}
		out = append(out, r2.Add(line[i-1], r2.Scale(t, d)))
	}
	return out
}

// evenly returns places about stepM apart along a path, its ends among them.
func evenly(path []r2.Vec) []r2.Vec {
	m := lengthM(path)
	n := max(2, int(math.Ceil(m/stepM))+1)
	return stretch(make([]r2.Vec, 0, n), path, 0, m, n)
}

// lengthM returns the length of a line in metres.
func lengthM(line []r2.Vec) float64 {
	sum := 0.0
	for i := 1; i < len(line); i++ {
		sum += math.Sqrt(r2.Norm2(r2.Sub(line[i], line[i-1])))
	}
	return sum
}
