package madelake

import (
	"math"
	"math/rand/v2"
)

// A stage names one use of randomness. Each draws from streams of its own, so
// that a change to one leaves all others as they are.
type stage uint64

const (
	stageWorld stage = iota + 1
	stageDay
	stageSail
	stageSchoolBite
	stageBackgroundBite
	stageEvent
	stageTrack
	stageWobble
	stageSonar
	stageWind
	stageWindTable
	stageFine
	stageStray
)

// stream returns the generator for one stage and up to two indices.
func stream(seed uint64, s stage, index ...int) *rand.Rand {
	h := mix(seed ^ mix(uint64(s)))
	for _, i := range index {
		h = mix(h ^ uint64(i+1))
	}
	return rand.New(rand.NewPCG(h, mix(h)))
}

// mix is the finalizer of SplitMix64 (Steele, Lea and Flood 2014): PCG streams
// from neighbouring seeds would begin alike without it.
func mix(x uint64) uint64 {
	x += 0x9e3779b97f4a7c15
	x = (x ^ x>>30) * 0xbf58476d1ce4e5b9
	x = (x ^ x>>27) * 0x94d049bb133111eb
	return x ^ x>>31
}

func between(r *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }

// bell is a normal draw with standard deviation sd, redrawn beyond 2 sd.
func bell(r *rand.Rand, sd float64) float64 {
	for {
		if v := r.NormFloat64(); math.Abs(v) <= 2 {
			return v * sd
		}
	}
}

// A drifting is a first-order Gauss-Markov process sampled every second: it
// forgets itself over tauS seconds and has standard deviation sd.
type drifting struct{ v, sd, keep float64 }

func newDrifting(r *rand.Rand, sd, tauS float64) *drifting {
	return &drifting{v: sd * r.NormFloat64(), sd: sd, keep: math.Exp(-1 / tauS)}
}

func (d *drifting) next(r *rand.Rand) float64 {
	d.v = d.keep*d.v + d.sd*math.Sqrt(1-d.keep*d.keep)*r.NormFloat64()
	return d.v
}

// softly draws from d second by second without its jitter: a hull has mass. It
// starts at 0 and follows d with a lag of about ten seconds.
func (d *drifting) softly(r *rand.Rand) func() float64 {
	v := 0.0
	return func() float64 {
		v += (d.next(r) - v) / 10
		return v
	}
}

// round keeps the given number of decimals, so that the truth in memory is the
// truth in the file.
func round(v float64, decimals int) float64 {
	k := math.Pow(10, float64(decimals))
	return math.Round(v*k) / k
}
