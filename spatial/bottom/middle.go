package bottom

import (
	"math"
	"math/bits"
	"slices"
)

// median returns the middle of v, the mean of the two middle ones for an even
// number, and puts v in another order. v must not be empty. Cost: linear.
func median(v []float64) float64 {
	m := len(v) / 2
	high := nth(v, m)
	if len(v)%2 == 0 {
		return (slices.Max(v[:m]) + high) / 2
	}
	return high
}

// nth returns what stands at place k once v is sorted, and puts v in another order: what comes
// before place k is no greater afterwards, what comes after no smaller.
//
// It parts v about the middle one of three, and goes on with the part that holds k (C. A. R. Hoare,
// Algorithm 65: Find, Comm. ACM 4, 1961). Where the parts stay uneven it sorts what is left.
func nth(v []float64, k int) float64 {
	const few = 24 // sorting them is as fast
	for low, high, rounds := 0, len(v), 2*bits.Len(uint(len(v))); ; rounds-- {
		if high-low <= few || rounds == 0 {
			slices.Sort(v[low:high])
			return v[k]
		}
		a, b, c := v[low], v[(low+high)/2], v[high-1]
		pivot := max(min(a, b), min(max(a, b), c))
		i, j := low, high-1
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i, j = i+1, j-1
			}
		}
		switch {
		case k <= j:
			high = j + 1
		case k >= i:
			low = i
		default: // between the parts all are alike
			return v[k]
		}
	}
}

// scaledMAD returns the median distance of v from middle, times 1.4826: the
// standard deviation, were v normal. off is scratch as long as v.
func scaledMAD(v []float64, middle float64, off []float64) float64 {
	off = off[:0]
	for _, x := range v {
		off = append(off, math.Abs(x-middle))
	}
	return 1.4826 * median(off)
}

// quantile returns the smallest value of sorted v that at least a share p of v
// doesn't exceed. v must not be empty.
func quantile(p float64, v []float64) float64 { return v[quantileAt(p, len(v))] }

// quantileAt returns where quantile stands among n sorted values.
func quantileAt(p float64, n int) int {
	return min(n-1, max(0, int(math.Ceil(p*float64(n)))-1))
}
