package clock

import (
	"math"

	"leadline/ingest"
)

const (
	speedStepS = 5
	// The track's speed is that of the straight line over this long to either side,
	// or over one interval between fixes where they are farther apart. An error of
	// 0.3 m from one second to the next makes 0.05 m/s of it.
	speedHalfS = 4
	// Faster is no boat but a leap of the receiver.
	mostSpeedMPS = 30
	// Root speeds that vary by less, as a standard deviation, hold noise alone: at
	// a drift of 0.3 m/s it is what 0.1 m/s more and less makes.
	leastRootSD = 0.1
)

// bySpeed compares the logged speed with the track's. The misfit is 1 - r, with r
// the correlation coefficient of what overlaps.
func (m *match) bySpeed() (method, string) {
	log := m.samples(func(x *ingest.Sounding) (float64, bool) {
		return math.Sqrt(math.Max(0, x.SpeedMPS.V)), x.SpeedMPS.OK && x.SpeedMPS.V < mostSpeedMPS
	})
	if why := tooFew(log, bySpeed); why != "" {
		return method{}, why
	}
	intervalS := everyS(log)
	track := m.way.speed()
	stepS := math.Max(speedStepS, math.Ceil(intervalS))
	share := m.needed(float64(len(log)) * intervalS)
	rows := make([]sample, 0, len(track.v))
	for i, v := range track.v {
		if v == v {
			rows = append(rows, sample{float64(track.fromS + i), v})
		}
	}
	a, b := binned(log, stepS), binned(rows, stepS)
	known := 0.0
	for _, v := range a.v {
		if v == v {
			known++
		}
	}
	lags := int(WindowS / stepS)
	s := scan{fromS: -float64(lags) * stepS, stepS: stepS}
	for _, r := range correlate(a.v, b.v, a.from-b.from, lags, share*known, leastRootSD) {
		s.misfit = append(s.misfit, 1-r)
	}
	many := thinned(log, fineRows)
	return method{
		by:   bySpeed,
		most: mostSpeedMisfit,
		scan: s,
		misfit: func(offsetS float64) float64 {
			var c correlation
			for _, q := range many {
				if v := track.at(q.s + offsetS); v == v {
					c.add(q.v, v)
				}
			}
			if c.n < share*float64(len(many)) {
				return math.NaN()
			}
			return 1 - c.r(leastRootSD)
		},
	}, ""
}

// speed returns the square root of the speed over ground each second.
func (w way) speed() line {
	half := int(math.Max(speedHalfS, math.Ceil(w.everyS)))
	l := line{w.x.fromS, make([]float64, len(w.x.v))}
	for i := range l.v {
		l.v[i] = math.NaN()
		if i >= half && i+half < len(l.v) {
			east, north := w.x.v[i+half]-w.x.v[i-half], w.y.v[i+half]-w.y.v[i-half]
			mps := math.Sqrt(east*east+north*north) / float64(2*half)
			if mps < mostSpeedMPS {
				l.v[i] = math.Sqrt(mps)
			}
		}
	}
	return l
}

// bins are means of a quantity over steps of time, the first beginning at from
// steps; NaN where there is none.
type bins struct {
	from int
	v    []float64
}

// binned takes the mean over each stepS, of samples in order of time.
func binned(s []sample, stepS float64) bins {
	if len(s) == 0 {
		return bins{}
	}
	bin := func(t float64) int { return int(math.Floor(t / stepS)) }
	b := bins{from: bin(s[0].s)}
	b.v = make([]float64, bin(s[len(s)-1].s)-b.from+1)
	n := make([]float64, len(b.v))
	for _, x := range s {
		i := bin(x.s) - b.from
		b.v[i] += x.v
		n[i]++
	}
	for i := range b.v {
		b.v[i] /= n[i] // 0/0 is NaN
	}
	return b
}
