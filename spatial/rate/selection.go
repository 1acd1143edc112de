package rate

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// # Method
//
// Selection ratios (Manly, McDonald, Thomas, McDonald & Erickson, Resource Selection by
// Animals, 2nd ed. 2002, ch. 4; what is available is known): is a class used more than
// its share of what there is? Of n uses a share o falls in a class that has a share p
// of the hours:
//
//	w = o/p                          1 when used as offered
//	se(w) = sqrt(o(1-o)/n) / p
//	B = w / Σw                       the share of uses if all classes were offered alike
//	o ± z sqrt(o(1-o)/n)             z = the normal quantile of 1 - 0.05/(2k)
//
// With k classes each interval is widened (Bonferroni) so that all of them hold at once
// in 95 % of cases (Neu, Byers & Peek, A technique for analysis of utilization-availability
// data, J. Wildl. Manage. 38, 1974). That of w is the same, over p.
//
// By hand: 6 and 4 uses in 2 and 6 hours. o 0.6, p 0.25: w 2.4, se sqrt(0.024)/0.25 = 0.620;
// the other 0.4/0.75 = 0.533; B 0.818 and 0.182. z for k = 2 is 2.241: o from 0.253 to 0.947.
//
// # Cost
//
// One pass over the classes.
//
// # What it does badly
//
// The intervals are normal ones: with few uses they are too narrow and reach outside
// 0 to 1, where they are cut. Without any use, or with all, they have no width, however
// little was tried. Thin tells where not to lean on them. Uses must be apart from each
// other: ten fish of one school count as one proof, not ten, which this cannot know.

// family is the chance that one of the intervals of a table, or more, misses: the usual 5 %.
const family = 0.05

// leastExpected is what n p must reach for the normal interval: 5, the usual rule for
// counts held against what is expected (Cochran, Some methods for strengthening the
// common χ² tests, Biometrics 10, 1954). Lower leaves unmarked what rests on a few.
const leastExpected = 5

// Selection is one class of a table: how it was used against how it was offered.
type Selection struct {
	Used  float64 // uses in this class
	Hours float64 // hours it was offered

	UsedShare  float64 // o, of all uses
	HoursShare float64 // p, of all hours
	Ratio      float64 // w
	SE         float64 // standard error of Ratio
	Index      float64 // B: the Ratios made to add up to 1

	LowShare, HighShare float64 // interval of UsedShare, within 0 and 1
	Low, High           float64 // interval of Ratio, within 0 and 1/p

	// Thin: fewer than five uses would be expected here, so the interval is doubtful.
	Thin bool
	// OK: there were hours here and uses somewhere. Without, there are no ratio, index and
	// intervals, and they are 0.
	OK bool
}

// Select returns one Selection for each class, in order. used counts uses that are apart
// from each other, whole numbers; hours is what was offered of each class, in any unit,
// for only shares count. Neither is changed. A class without hours has no ratio and is
// none of the k, but its uses are among all. No classes give nil; without any use, or any
// hours, no class is OK.
//
// It panics when used and hours differ in length or one is negative or not finite.
func Select(used []float64, hours []float64) []Selection {
	if len(used) != len(hours) {
		panic("rate: used and hours differ in length")
	}
	n, h, k := 0.0, 0.0, 0
	for i, u := range used {
		checkCount(u, hours[i])
		n += u
		h += hours[i]
		if hours[i] > 0 {
			k++
		}
	}
	if len(used) == 0 {
		return nil
	}
	z := 0.0
	if k > 0 {
		z = distuv.UnitNormal.Quantile(1 - family/float64(2*k))
	}
	out := make([]Selection, len(used))
	ratios := 0.0
	for i, u := range used {
		s := Selection{Used: u, Hours: hours[i]}
		if n > 0 {
			s.UsedShare = u / n
		}
		if h > 0 {
			s.HoursShare = hours[i] / h
		}
		s.Thin = n*s.HoursShare < leastExpected
		if s.OK = n > 0 && s.HoursShare > 0; s.OK {
			o, p := s.UsedShare, s.HoursShare
			se := math.Sqrt(o * (1 - o) / n)
			s.Ratio, s.SE = o/p, se/p
			s.LowShare, s.HighShare = max(0, o-z*se), min(1, o+z*se)
			s.Low, s.High = s.LowShare/p, s.HighShare/p
			ratios += s.Ratio
		}
		out[i] = s
	}
	if ratios > 0 {
		for i := range out {
			out[i].Index = out[i].Ratio / ratios
		}
	}
	return out
}
