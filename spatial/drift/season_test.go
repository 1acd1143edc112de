package drift

import (
	"math"
	"math/rand/v2"
	"reflect"
	"runtime"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/plane"
)

// A made season: lines drifted again and again, and passes made once.

// A trueLine is drifted from start on.
type trueLine struct {
	start     r2.Vec
	towardDeg float64
	lengthM   float64
	passes    int // pieces
}

func (l trueLine) at(alongM, rightM float64) r2.Vec {
	return r2.Add(l.start, r2.Add(r2.Scale(alongM, plane.Toward(l.towardDeg)), r2.Scale(rightM, plane.Toward(l.towardDeg+90))))
}

// bell is a normal draw of standard deviation sd, redrawn beyond two of them.
func bell(rng *rand.Rand, sd float64) float64 {
	for {
		if v := rng.NormFloat64(); math.Abs(v) <= 2 {
			return sd * v
		}
	}
}

// wander returns a walk that forgets itself over tauS seconds, second by second.
func wander(rng *rand.Rand, sd, tauS float64) func() float64 {
	keep := math.Exp(-1 / tauS)
	v := sd * rng.NormFloat64()
	return func() float64 {
		v = keep*v + sd*math.Sqrt(1-keep*keep)*rng.NormFloat64()
		return v
	}
}

// drifted is one pass of a line as a receiver tells it: aside by up to 7 m and askew by up to 2.4°, at a steady
// 0.15 to 0.45 m/s, yawing by 1.3 m over 90 s; the error of 1.5 m in each axis wanders over a minute, and
// each point is the mean of five seconds.
func drifted(rng *rand.Rand, l trueLine) Pass {
	askew := trueLine{towardDeg: l.towardDeg + bell(rng, 1.2), lengthM: l.lengthM + 12*(rng.Float64()-0.5)}
	askew.start = askew.at(0, 0)
	middle := l.at(l.lengthM/2, bell(rng, 3.5))
	askew.start = r2.Sub(middle, askew.at(askew.lengthM/2, 0))
	speed := 0.15 + 0.3*rng.Float64()
	gust, yaw, east, north := wander(rng, 0.07, 40), wander(rng, 1.3, 90), wander(rng, 1.5, 60), wander(rng, 1.5, 60)
	p := Pass{Day: "2031-10-04"}
	var sum r2.Vec
	for s, gone := 1, 0.0; gone < askew.lengthM; s++ {
		gone += max(0, speed*(1+gust()))
		sum = r2.Add(sum, r2.Add(askew.at(gone, yaw()), r2.Vec{X: east(), Y: north()}))
		if s%5 == 0 {
			p.Path = append(p.Path, r2.Scale(0.2, sum))
			p.Seconds += 5
			sum = r2.Vec{}
		}
	}
	return p
}

// piece returns part of a pass, from and to being shares of it.
func (p Pass) piece(from, to float64) Pass {
	n := float64(len(p.Path))
	path := p.Path[int(from*n):int(to*n)]
	return Pass{p.Day, path, 5 * float64(len(path))}
}

// A season of so many lines, 90 to 190 m long, each at least 100 m from all others, but for every fifth, which leads over
// the same water as the one before in another direction. Of the passes a fifth are seen in part, a tenth in two parts.
// Strays are passes made once, half of them over some line.
func season(rng *rand.Rand, lines, most, strays int) (truth []trueLine, passes []Pass) {
	side := 400 * math.Sqrt(float64(lines))
	anywhere := func() trueLine {
		return trueLine{start: r2.Vec{X: side * rng.Float64(), Y: side * rng.Float64()}, towardDeg: 360 * rng.Float64(), lengthM: 90 + 100*rng.Float64()}
	}
	for len(truth) < lines {
		l := anywhere()
		same := -1
		if len(truth)%5 == 4 {
			same = len(truth) - 1
			l.towardDeg = truth[same].towardDeg + 45 + 270*rng.Float64()
			l.start = r2.Sub(truth[same].at(truth[same].lengthM/2, 0), r2.Scale(l.lengthM/2, plane.Toward(l.towardDeg)))
		}
		clear := true
		for k, o := range truth {
			for u := 0.0; u <= 1; u += 0.05 {
				for w := 0.0; w <= 1; w += 0.05 {
					clear = clear && (k == same || r2.Norm(r2.Sub(l.at(u*l.lengthM, 0), o.at(w*o.lengthM, 0))) > 100)
				}
			}
		}
		if clear {
			truth = append(truth, l)
		}
	}
	for k := range truth {
		for range 2 + rng.IntN(most-1) {
			p := drifted(rng, truth[k])
			switch share := rng.Float64(); {
			case share < 0.2:
				from := 0.6 * rng.Float64()
				passes = append(passes, p.piece(from, min(1, from+0.4+0.5*rng.Float64())))
			case share < 0.3:
				at := 0.35 + 0.3*rng.Float64()
				passes = append(passes, p.piece(0, at-0.05), p.piece(at+0.05, 1))
				truth[k].passes++
			default:
				passes = append(passes, p)
			}
			truth[k].passes++
		}
	}
	for k := range strays {
		l := anywhere()
		if k%2 == 0 {
			o := truth[rng.IntN(len(truth))]
			l.start = r2.Sub(o.at(o.lengthM*rng.Float64(), 0), r2.Scale(l.lengthM*rng.Float64(), plane.Toward(l.towardDeg)))
		}
		passes = append(passes, drifted(rng, l))
	}
	rng.Shuffle(len(passes), func(i, j int) { passes[i], passes[j] = passes[j], passes[i] })
	return truth, passes
}

// finds reports whether a line is the true one: within 5° of its direction, over at least half of it, and nowhere
// more than 10 m from it.
func (l trueLine) finds(got Line) (offM float64, ok bool) {
	onTruth, onLine, ok := Shared([]r2.Vec{l.start, l.at(l.lengthM, 0)}, got.Middle, 2)
	if !ok || math.Abs(plane.TurnDeg(l.towardDeg, got.TowardDeg)) > 5 || lengthM(onTruth) < l.lengthM/2 {
		return 0, false
	}
	m := Frechet(onTruth, onLine)
	return m, m <= 10
}

// Of what was drifted at least nine tenths are found, and at most a tenth as many besides: the aim this package is
// made for. The bounds of a direction are to hold 95 times in 100, here but for three standard errors of such a share.
func TestSeason(t *testing.T) {
	const seasons = 20
	var lines, found, extra, few, fewFound, sure, unsure int
	var turnDeg, offM, shortM float64
	for seed := range uint64(seasons) {
		truth, passes := season(rand.New(rand.NewPCG(71, seed)), 14, 12, 25)
		got := Lines(passes, 20)
		taken := make([]bool, len(got))
		for _, l := range truth {
			lines++
			best, bestM := -1, math.Inf(1)
			for k, g := range got {
				if m, ok := l.finds(g); ok && m < bestM && !taken[k] {
					best, bestM = k, m
				}
			}
			if l.passes < 4 {
				few++
			}
			if best < 0 {
				continue
			}
			found++
			if l.passes < 4 {
				fewFound++
			}
			taken[best] = true
			turn := math.Abs(plane.TurnDeg(l.towardDeg, got[best].TowardDeg))
			turnDeg, offM, shortM = turnDeg+turn, offM+bestM, shortM+l.lengthM-got[best].LengthM()
			if u := got[best].TowardU95Deg; u.OK && turn <= u.V {
				sure++
			} else if u.OK {
				unsure++
			}
		}
		for _, is := range taken {
			if !is {
				extra++
			}
		}
	}
	n := float64(found)
	t.Logf("%d of %d lines found, %d of %d with two or three passes, and %d besides; on average %.2f°, %.1f m off and %.1f m short; %d directions within their bounds, %d not",
		found, lines, fewFound, few, extra, turnDeg/n, offM/n, shortM/n, sure, unsure)
	if 10*found < 9*lines || 10*extra > lines {
		t.Errorf("%d of %d lines found, %d besides", found, lines, extra)
	}
	if with := float64(sure + unsure); float64(unsure) > 0.05*with+3*math.Sqrt(0.05*0.95*with) {
		t.Errorf("%d of %.0f directions outside of their bounds", unsure, with)
	}
}

// One processor and three must find the same lines, to the last bit.
func TestProcessors(t *testing.T) {
	_, passes := season(rand.New(rand.NewPCG(27, 28)), 20, 8, 30)
	of := func(n int) []Line {
		defer runtime.GOMAXPROCS(runtime.GOMAXPROCS(n))
		return Lines(passes, 20)
	}
	if one, three := of(1), of(3); len(one) == 0 || !reflect.DeepEqual(one, three) {
		t.Errorf("%d lines on one processor, and %d others on three", len(one), len(three))
	}
}
