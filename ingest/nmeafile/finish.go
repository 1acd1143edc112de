package nmeafile

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"

	"leadline/ingest"
)

// sums counts checksums.
type sums struct {
	stated int      // sentences with one
	wrong  int      // and it is wrong
	same   [256]int // wrong ones, by what is stated
	off    [256]int // wrong ones, by how they differ from the right one
}

// leastSums is the least number of like wrong checksums that tells of the logger
// rather than of a line.
const leastSums = 3

// count notes a sentence's checksum and reports whether it is wrong.
func (l *reader) count(f frame) bool {
	sum, ok := f.stated()
	if !ok {
		return false
	}
	l.sums.stated++
	right := f.right()
	if sum == right {
		return false
	}
	l.sums.wrong++
	l.sums.same[sum]++
	l.sums.off[sum^right]++
	return true
}

// trusted returns an error when the file's checksums tell nothing.
func (l *reader) trusted() error {
	s := &l.sums
	if l.opt.NoChecksums {
		if s.wrong > 0 {
			l.doubt("sums", ingest.Problem{Field: "checksums", Kind: ingest.ErrChecksum,
				Wanted: fmt.Sprintf("the exclusive or of each; %d of %d differ from it and were taken as asked", s.wrong, s.stated)}, "file", "")
		}
		return nil
	}
	for _, by := range [...]struct {
		counts [256]int
		words  string
	}{{s.same, "end in *%02X, which isn't their checksum"}, {s.off, "state a checksum that is off by %02X"}} {
		for v, n := range by.counts {
			if n >= leastSums && 2*n > s.stated {
				return fmt.Errorf("%s: checksums of this file can't be trusted: %d of %d sentences "+by.words+"; --no-checksums reads it without looking at them", l.name, n, s.stated, v)
			}
		}
	}
	return nil
}

// finish makes records of what was read.
func (l *reader) finish() error {
	s := &l.out.Source
	if s.RowsRead == 0 {
		return fmt.Errorf("%s: holds no sentence that is read, wanted one of %s", l.name, strings.Join(known[:], ", "))
	}
	if err := l.trusted(); err != nil {
		return err
	}
	if err := l.settle(); err != nil {
		return err
	}
	l.backwards()
	kinds := l.intervals()
	l.soundings(kinds)
	l.track()
	l.blow(kinds)
	l.otherTypes()

	for _, d := range l.doubts {
		d.File = l.name
		if d.noun != "file" {
			d.Wanted += "; " + plural(d.n, d.noun) + d.tail
			if d.n > 1 {
				d.Wanted += ", the first"
			}
			if d.Line > 0 {
				d.Wanted += " at line " + strconv.Itoa(d.Line)
			}
		}
		d.Line = 0 // it is said of the file
		l.problems = append(l.problems, d.Problem)
	}
	if l.overN > 0 {
		l.over.Wanted += "; " + plural(l.overN-1, "more problem") + " from here on are counted and not listed"
		l.problems = append(l.problems, l.over)
	}
	slices.SortStableFunc(l.problems, func(a, b ingest.Problem) int { return a.Line - b.Line })
	l.out.Problems = l.problems

	s.Name, s.TakenFor = l.name, "NMEA 0183 log"
	l.columns()
	if l.opt.ClockOffset != 0 {
		s.ClockOffsetS = ingest.Known(l.opt.ClockOffset.Seconds())
	}
	return nil
}

// track puts the fixes in one track.
func (l *reader) track() {
	if len(l.fixes) == 0 {
		return
	}
	t := ingest.Track{Fixes: make([]ingest.Fix, len(l.fixes))}
	for i, f := range l.fixes {
		t.Fixes[i] = f.Fix
		if f.tick >= 0 {
			t.Fixes[i].Time = l.ticks[f.tick].at.Add(l.opt.ClockOffset)
		}
	}
	l.out.Tracks = []ingest.Track{t}
}

// blow gives the winds their times and, to those told from the bow, true north.
func (l *reader) blow(kinds []interval) {
	winds := l.winds
	if len(winds) == 0 {
		for _, w := range l.bows {
			if !l.headed(w) {
				l.doubt("heading", ingest.Problem{Line: w.Line, Field: "MWV angle", Found: strconv.FormatFloat(w.FromDeg, 'f', -1, 64), Kind: ingest.ErrRange,
					Wanted: "a VHW with the true heading within 5 s before it"}, "sentence", " not used")
				continue
			}
			w.FromDeg = math.Mod(w.FromDeg+l.headings[w.heading].v.V, 360)
			winds = append(winds, w)
		}
	} else if n := len(l.bows); n > 0 {
		l.doubt("two winds", ingest.Problem{Line: l.bows[0].Line, Field: "MWV", Kind: ingest.ErrShape,
			Wanted: "one kind of wind sentence; MWD was used, which needs no heading, and not " + plural(n, "MWV sentence")}, "file", "")
	}
	for _, w := range winds {
		if w.tick < 0 || kinds[w.tick] == open && w.nth > 0 {
			l.doubt("wind time", ingest.Problem{Line: w.Line, Field: "time", Kind: ingest.ErrMissing, Wanted: "a sentence with a time shortly before the wind"}, "wind", " not used")
			continue
		}
		w.Time = l.ticks[w.tick].at.Add(l.opt.ClockOffset)
		l.out.Winds = append(l.out.Winds, w.Wind)
	}
}

// headed reports whether a wind told from the bow has a heading of its time.
func (l *reader) headed(w wind) bool {
	if w.heading < 0 || w.tick < 0 || l.headings[w.heading].tick < 0 {
		return false
	}
	d := l.ticks[w.tick].at.Sub(l.ticks[l.headings[w.heading].tick].at)
	return d >= -time.Second && d <= holds
}

// typesShown bounds the list of types of sentence that aren't read.
const typesShown = 32

// otherTypes tells of the sentences that aren't read.
func (l *reader) otherTypes() {
	if len(l.others) == 0 {
		return
	}
	names := slices.Sorted(maps.Keys(l.others))
	var list []string
	total, rest := 0, 0
	for i, n := range names {
		total += l.others[n]
		if i < typesShown {
			list = append(list, n+" "+strconv.Itoa(l.others[n]))
		} else {
			rest += l.others[n]
		}
	}
	if rest > 0 {
		list = append(list, "others "+strconv.Itoa(rest))
	}
	l.doubt("types", ingest.Problem{Field: "sentence types", Kind: ingest.ErrWord, Found: plural(total, "other sentence"),
		Wanted: strings.Join(known[:], ", ") + "; not used: " + strings.Join(list, ", ")}, "file", "")
}

// readAs says what the types are read as, in the order of known.
var readAs = [len(known)]string{"time, position, speed, course", "time, position", "time, position", "time", "", "depth below the transducer",
	"depth below the surface", "water temperature", "speed, course", "heading", "wind from the bow", "wind"}

var units = [len(known)]string{4: "m", 5: "m", 6: "m", 7: "C"}

func (l *reader) columns() {
	for i, k := range known {
		if l.counts[i] == 0 {
			continue
		}
		what := readAs[i]
		if k == "DPT" {
			what = l.dptReadAs()
		}
		l.out.Source.Columns = append(l.out.Source.Columns, ingest.Column{Name: k, ReadAs: what + ", " + plural(l.counts[i], "sentence"), Unit: units[i]})
	}
	names := slices.Sorted(maps.Keys(l.others))
	for _, n := range names[:min(len(names), typesShown)] {
		l.out.Source.Columns = append(l.out.Source.Columns, ingest.Column{Name: n})
	}
}

func (l *reader) dptReadAs() string {
	var above, other bool
	for _, p := range l.pings {
		if p.kind == isDPT {
			above = above || p.offsetM > 0
			other = other || p.offsetM <= 0
		}
	}
	switch {
	case above && other:
		return "depth below the surface where the offset is above 0, else below the transducer"
	case above:
		return "depth below the surface, offset added"
	}
	return "depth below the transducer"
}

func plural(n int, noun string) string {
	switch {
	case n == 1:
		return "1 " + noun
	case noun == "jump back":
		return strconv.Itoa(n) + " jumps back"
	}
	return strconv.Itoa(n) + " " + noun + "s"
}

func metres(m float64) string { return strconv.FormatFloat(m, 'f', -1, 64) + " m" }
