package clock

import (
	"math"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

const (
	// Beyond this distance farther is no worse: one wild position counts no more
	// than any other that is wrong.
	clipM = 50
	// So many rows, evenly taken, serve for the first look and for the close one.
	coarseRows = 300
	fineRows   = 4000

	positionStepS = 5
)

// A place is a position of the log: seconds on its clock, metres east and north.
type place struct{ s, x, y float64 }

// byPosition compares where the log says the boat was with where the track does.
// The misfit is the mean distance, each clipped at clipM, over clipM.
func (m *match) byPosition() (method, string) {
	var at []orb.Point
	rows := m.samples(func(x *ingest.Sounding) (float64, bool) {
		if !x.HasPos || x.Pos == (orb.Point{}) {
			return 0, false
		}
		at = append(at, x.Pos)
		return float64(len(at) - 1), true
	})
	if why := tooFew(rows, byPosition); why != "" {
		return method{}, why
	}
	share := m.needed(float64(len(rows)) * everyS(rows))
	var many []place
	for _, r := range thinned(rows, fineRows) {
		v := m.way.frame.Metres(at[int(r.v)])
		many = append(many, place{r.s, v.X, v.Y})
	}
	few := thinned(many, coarseRows)
	misfit := func(places []place, offsetS float64) float64 {
		n, sum := 0, 0.0
		for _, q := range places {
			d := math.Hypot(m.way.x.at(q.s+offsetS)-q.x, m.way.y.at(q.s+offsetS)-q.y)
			if d == d {
				n++
				sum += math.Min(d, clipM)
			}
		}
		if float64(n) < share*float64(len(places)) {
			return math.NaN()
		}
		return sum / float64(n) / clipM
	}
	return method{
		by:     byPosition,
		most:   mostPositionMisfit,
		scan:   every(positionStepS, func(offsetS float64) float64 { return misfit(few, offsetS) }),
		misfit: func(offsetS float64) float64 { return misfit(many, offsetS) },
	}, ""
}
