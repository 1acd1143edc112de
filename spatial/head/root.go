package head

// The root of a rising function between two bounds.
//
// Steps: the chord through the bounds' values (false position); the bound on the
// other side of the root halves its value each time it stays, or it would stay for
// good. Every third step halves the bracket instead, so that an odd function costs
// no more than three times what halving does.
//
// By hand: x² - 2 from 1 to 2 has values -1 and 2; the chord crosses 0 at 4/3, where the
// function is -2/9, and the next at 1.4, where it is -0.04. That is the second
// from below, so the value at 2 counts as 1 from here on. The third step halves: 1.7.
//
// Cost: some ten evaluations. Source: the Illinois method, Dowell & Jarratt 1971 (from memory)
// (BIT 11, 168).

// root returns where f, rising, crosses 0 between low and high, to tol; one of the
// two when it doesn't.
func root(low, high, tol float64, f func(float64) float64) float64 {
	fl, fh := f(low), f(high)
	if fl >= 0 {
		return low
	}
	if fh <= 0 {
		return high
	}
	side := 0
	for i := 1; i < 300 && high-low > tol; i++ {
		x := high - fh*(high-low)/(fh-fl)
		if i%3 == 0 || !(x > low && x < high) {
			x = low + (high-low)/2
		}
		y := f(x)
		switch {
		case y == 0:
			return x
		case y < 0:
			low, fl = x, y
			if side < 0 {
				fh /= 2
			}
			side = -1
		default:
			high, fh = x, y
			if side > 0 {
				fl /= 2
			}
			side = 1
		}
	}
	return low + (high-low)/2
}
