package nmeafile

import (
	"fmt"
	"slices"
	"time"

	"leadline/ingest"
)

// A tick is one time that the log gives. Sentences of the same time that follow
// each other share it.
type tick struct {
	tod    time.Duration // of the day
	day    time.Time
	hasDay bool
	at     time.Time // once settled
}

// tick moves the clock.
func (l *reader) tick(tod time.Duration, day time.Time, hasDay bool) {
	if n := len(l.ticks) - 1; n >= 0 && l.ticks[n].tod == tod {
		last := &l.ticks[n]
		if !hasDay || !last.hasDay || last.day.Equal(day) {
			if hasDay {
				last.day, last.hasDay = day, true
			}
			return
		}
	}
	l.ticks = append(l.ticks, tick{tod: tod, day: day, hasDay: hasDay})
}

// voidClock moves the clock by a sentence without a fix, once it runs: receivers
// keep time through a gap, but invent it before their first fix.
func (l *reader) voidClock(tod time.Duration, has bool, day time.Time, hasDay bool) {
	if has && len(l.ticks) > 0 {
		l.tick(tod, day, hasDay)
	}
}

// settle gives every tick its instant.
func (l *reader) settle() error {
	first := slices.IndexFunc(l.ticks, func(t tick) bool { return t.hasDay })
	if first < 0 {
		if len(l.ticks) == 0 {
			return nil
		}
		return fmt.Errorf("%s: %d times of day and no date, wanted an RMC or ZDA sentence with a date in the file", l.name, len(l.ticks))
	}
	for i := first; i < len(l.ticks); i++ {
		if t := &l.ticks[i]; t.hasDay {
			t.at = t.day.Add(t.tod)
		} else {
			t.at = nearest(l.ticks[i-1].at, t.tod)
		}
	}
	for i := first - 1; i >= 0; i-- {
		l.ticks[i].at = nearest(l.ticks[i+1].at, l.ticks[i].tod)
	}
	return nil
}

// nearest returns the instant with that time of day that is nearest to ref. By
// hand: 00:00:01 beside 23:59:59 is on the next day.
func nearest(ref time.Time, tod time.Duration) time.Time {
	t := ref.Truncate(24 * time.Hour).Add(tod)
	switch d := t.Sub(ref); {
	case d > 12*time.Hour:
		return t.Add(-24 * time.Hour)
	case d < -12*time.Hour:
		return t.Add(24 * time.Hour)
	}
	return t
}

const (
	// For so long what has no clock of its own keeps the time before it: at a drift
	// of half a metre a second that is 2.5 m, about what a receiver errs.
	holds = 5 * time.Second
	// Sparser logs are spread out, up to this: a boat's way is known between fixes
	// a minute apart, and pings are regular.
	mostSpread = time.Minute
)

// interval is what lies between a tick and the next.
type interval uint8

const (
	open   interval = iota // no next, or too far off, or earlier
	held                   // the time before it holds
	spread                 // evenly spread between both times
)

// intervals judges every interval of the log.
func (l *reader) intervals() []interval {
	var steps []time.Duration
	for i := 1; i < len(l.ticks); i++ {
		if d := l.ticks[i].at.Sub(l.ticks[i-1].at); d > 0 {
			steps = append(steps, d)
		}
	}
	limit := holds
	if len(steps) > 0 {
		slices.Sort(steps)
		usual := steps[len(steps)/2]
		limit = max(limit, min(usual+usual/2, mostSpread))
	}
	out := make([]interval, len(l.ticks))
	for i := range out {
		if i+1 == len(out) {
			break
		}
		switch d := l.ticks[i+1].at.Sub(l.ticks[i].at); {
		case d < 0 || d > limit:
		case d <= holds:
			out[i] = held
		default:
			out[i] = spread
		}
	}
	return out
}

// backwards counts how often the clock went back by more than a second: less is
// two sentences out of order.
func (l *reader) backwards() {
	for i := 1; i < len(l.ticks); i++ {
		if l.ticks[i].at.Before(l.ticks[i-1].at.Add(-time.Second)) {
			l.doubt("back", ingest.Problem{Field: "time", Found: l.ticks[i].at.Format("2006-01-02 15:04:05"), Kind: ingest.ErrTime,
				Wanted: "a clock that goes forward from " + l.ticks[i-1].at.Format("2006-01-02 15:04:05")}, "jump back", "")
		}
	}
}
