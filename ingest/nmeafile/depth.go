package nmeafile

import (
	"math"
	"slices"
	"time"

	"leadline/ingest"
)

// mostOffsetM is deeper than any hull reaches; a larger offset is a filler.
const mostOffsetM = 30

type pingKind uint8

const (
	isDPT pingKind = iota
	isDBT
	isDBS
	pingKinds
)

// A ping is one depth as one sentence tells it.
type ping struct {
	kind    pingKind
	tick    int
	nth     int // how many of its kind came before it since the tick
	depthM  float64
	offsetM float64
	line    int
}

func (l *reader) ping(p ping) {
	p.tick = len(l.ticks) - 1
	for i := len(l.pings) - 1; i >= 0 && l.pings[i].tick == p.tick; i-- {
		if l.pings[i].kind == p.kind {
			p.nth = l.pings[i].nth + 1
			break
		}
		if len(l.pings)-i > 2*int(pingKinds) {
			break
		}
	}
	l.pings = append(l.pings, p)
}

// rank says which sentence about a ping is used, the lowest first: what is known
// from the surface down comes before what needs the transducer's depth, and DPT
// before DBT, which is printed more coarsely.
func (p ping) rank() int {
	switch {
	case p.kind == isDPT && p.offsetM > 0:
		return 0
	case p.kind == isDBS:
		return 1
	case p.kind == isDPT:
		return 2
	}
	return 3
}

// depth returns the depth and from where down it is. A reading of 0 or less found
// no bottom, and stays that.
func (p ping) depth() (m float64, ref ingest.DepthRef) {
	switch {
	case p.kind == isDBS:
		return p.depthM, ingest.BelowSurface
	case p.kind == isDPT && p.offsetM > 0 && p.depthM > 0:
		return p.depthM + p.offsetM, ingest.BelowSurface
	}
	return p.depthM, ingest.BelowTransducer
}

// samePing is how far apart the sentences about one ping may be.
const samePing = time.Second

// soundings makes one sounding of the sentences about each ping.
func (l *reader) soundings(kinds []interval) {
	times := l.pingTimes(kinds)
	for from := 0; from < len(l.pings); {
		to, seen, best := from, uint8(0), from
		for ; to < len(l.pings); to++ {
			p := l.pings[to]
			if seen&(1<<p.kind) != 0 || !l.together(l.pings[from].tick, p.tick) {
				break
			}
			seen |= 1 << p.kind
			if p.rank() < l.pings[best].rank() {
				best = to
			}
		}
		l.disagree(l.pings[from:to])
		p := l.pings[best]
		s := ingest.Sounding{Time: times[best], Line: p.line}
		s.DepthM, s.Ref = p.depth()
		l.out.Soundings = append(l.out.Soundings, s)
		from = to
	}
	l.temperatures()
}

func (l *reader) together(a, b int) bool {
	if a == b {
		return true
	}
	if a < 0 || b < 0 {
		return false
	}
	d := l.ticks[b].at.Sub(l.ticks[a].at)
	return d >= -samePing && d <= samePing
}

// disagree counts pings whose sentences can't all be right.
func (l *reader) disagree(group []ping) {
	for i, a := range group {
		for _, b := range group[i+1:] {
			am, aRef := a.depth()
			bm, bRef := b.depth()
			if a.kind != isDBS && b.kind != isDBS {
				am, aRef, bm, bRef = a.depthM, ingest.BelowTransducer, b.depthM, ingest.BelowTransducer
			}
			if aRef == bRef && am > 0 && bm > 0 && differ(am, bm) {
				used, usedM, leftM := a, am, bm
				if b.rank() < a.rank() {
					used, usedM, leftM = b, bm, am
				}
				l.doubt("ping", ingest.Problem{Line: used.line, Field: "depth", Found: metres(leftM), Kind: ingest.ErrRange,
					Wanted: metres(usedM) + " as another sentence says of the same ping; taken first is DPT with an offset above 0, then DBS, DPT, DBT"}, "ping", " like it")
				return
			}
		}
	}
}

// pingTimes returns each ping's time, zero when none is known.
func (l *reader) pingTimes(kinds []interval) []time.Time {
	// How many of each kind come between two ticks.
	last := make(map[[2]int]int) // tick and kind: number of pings
	for _, p := range l.pings {
		if p.tick >= 0 {
			last[[2]int{p.tick, int(p.kind)}] = p.nth + 1
		}
	}
	var usual [pingKinds]int
	for k := range usual {
		var n []int
		for t, kind := range kinds {
			if c := last[[2]int{t, k}]; kind == held && c > 0 {
				n = append(n, c)
			}
		}
		usual[k] = 1
		if len(n) > 0 {
			slices.Sort(n)
			usual[k] = n[len(n)/2]
		}
	}
	out := make([]time.Time, len(l.pings))
	for i, p := range l.pings {
		switch {
		case p.tick < 0:
		case kinds[p.tick] == spread:
			a, b := l.ticks[p.tick].at, l.ticks[p.tick+1].at
			share := float64(p.nth) / float64(last[[2]int{p.tick, int(p.kind)}])
			out[i] = a.Add(time.Duration(math.Round(share*b.Sub(a).Seconds()*1e3)) * time.Millisecond)
			if p.nth > 0 {
				l.doubt("spread", ingest.Problem{Line: p.line, Field: "time", Kind: ingest.ErrMissing,
					Wanted: "a sentence with a time every 5 s; depths between two times spread evenly"}, "depth", " so")
			}
		case kinds[p.tick] == held || p.nth < usual[p.kind]:
			out[i] = l.ticks[p.tick].at
		}
		if out[i].IsZero() {
			l.doubt("untimed", ingest.Problem{Line: p.line, Field: "time", Kind: ingest.ErrMissing,
				Wanted: "a sentence with a time shortly before the depth"}, "depth", " without a time")
		} else {
			out[i] = out[i].Add(l.opt.ClockOffset)
		}
	}
	return out
}

// A lake's water warms and cools by less than a sensor shows in this time; what a
// boat crosses in it is one patch of water.
const tempHolds = time.Minute

// temperatures gives each sounding the water temperature of the last MTW before
// it, or of the next behind when there is none within a minute. One that came
// empty says that the temperature isn't known.
func (l *reader) temperatures() {
	next := 0
	near := func(i int, t time.Time) bool {
		if i < 0 || i >= len(l.temps) || l.temps[i].tick < 0 || t.IsZero() {
			return false
		}
		d := t.Sub(l.ticks[l.temps[i].tick].at.Add(l.opt.ClockOffset))
		return d >= -tempHolds && d <= tempHolds
	}
	for i := range l.out.Soundings {
		s := &l.out.Soundings[i]
		for next < len(l.temps) && (l.temps[next].tick < 0 || !l.ticks[l.temps[next].tick].at.Add(l.opt.ClockOffset).After(s.Time)) {
			next++
		}
		switch {
		case near(next-1, s.Time):
			s.TempC = l.temps[next-1].v
		case near(next, s.Time):
			s.TempC = l.temps[next].v
		}
	}
}
