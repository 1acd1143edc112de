package load

import (
	"context"
	"errors"
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/join"
	"leadline/ingest/logbook"
)

// An Again says what becomes of a day of a file that the logbook has already from another file.
type Again int

// The ways to settle it.
const (
	AskAgain Again = iota // don't import; say which days
	KeepOld               // the file's day is left out
	TakeNew               // the file's day takes the place of the other's
	KeepBoth              // both are kept, and what they share counts once
)

// Agains are the words for the ways to settle it, AskAgain aside.
func Agains() []string { return []string{"keep", "replace", "both"} }

// A Twice is a day of a file that the logbook has already from another file.
type Twice struct {
	Day        string
	File, Have string  // names of the files
	Share      float64 // of the records of the one with fewer that the other has, too
}

// A TwiceError is returned by Import when days come again and AskAgain is what becomes of them.
type TwiceError struct{ List []Twice }

// Error names the first of the days.
func (e TwiceError) Error() string {
	t := e.List[0]
	s := fmt.Sprintf("%s: %s is in the logbook already, from %s (%.0f %% of its records are the same)", t.File, t.Day, t.Have, math.Floor(100*t.Share))
	if n := len(e.List) - 1; n > 0 {
		s += fmt.Sprintf("; so are %d more", n)
	}
	return s
}

// ErrZone is the error of an import whose days would be told by another zone than the logbook's.
var ErrZone = errors.New("another time zone than the logbook's")

// Imported is what an import did.
type Imported struct {
	Sources  []ingest.Source // of all files, in their order; those that were in the logbook already say so
	Problems []ingest.Problem
	Unplaced []ingest.Unplaced
	Days     []BookDay // the days that changed, as they are now
	Files    int       // added
	Twice    []Twice   // settled as asked
	Zone     *time.Location
	ZoneSaid bool
}

// Import reads files, puts clocks right against what the logbook has of the same days, and adds all of it in one change: it
// is in the logbook when Import returns nil, and else the logbook is as it was. A file whose content the logbook has is not
// read twice; days of it that were forgotten are added again.
//
// opt.Read.Zone tells days when it is the first import, and must be the same later. Errors: those of Season; TwiceError;
// ErrZone; those of the logbook's file.
func (b *Book) Import(ctx context.Context, paths []string, opt Options, again Again) (Imported, error) {
	for tries := 3; ; tries-- {
		im, err := b.tryImport(ctx, paths, opt, again)
		if !errors.Is(err, logbook.ErrChanged) {
			return im, err
		}
		if tries == 1 {
			return im, fmt.Errorf("%s: %w, three times", b.path, err)
		}
	}
}

func (b *Book) tryImport(ctx context.Context, paths []string, opt Options, again Again) (Imported, error) {
	set, old, heavy, held, tracked, err := b.state(ctx)
	if err != nil {
		return Imported{}, err
	}
	c := logbook.Change{Expect: set.Changes}
	if z := opt.Read.Zone; z != nil && (z.String() != set.Zone.String() || !set.ZoneSaid) {
		if len(old) > 0 && z.String() != set.Zone.String() {
			return Imported{}, fmt.Errorf("%s: days are told by %s: %s is %w", b.path, set.Zone, z, ErrZone)
		}
		set.Zone, set.ZoneSaid = z, true
		c.Zone, c.ZoneSaid = z, true
	}
	files, read, err := readAll(ctx, paths, opt, func(r *result) {
		if r.kept, r.err = logbook.NewSource(r.sum, r.records, set.Zone); r.err == nil {
			r.records.GiveBack() // packed, they take a tenth
		}
	})
	if err != nil {
		return Imported{}, err
	}
	im := Imported{Zone: set.Zone, ZoneSaid: set.ZoneSaid}
	p := plan{book: b, set: set, opt: opt, again: again, old: old, heavy: heavy, tracked: tracked}
	first := map[[32]byte]string{}
	for i, r := range read {
		s := r.kept
		if s.About.RowsRead == 0 {
			im.Sources = append(im.Sources, r.records.Source)
			continue
		}
		if name, seen := first[r.sum]; seen {
			im.Sources = append(im.Sources, ingest.Source{Name: files[i].name, TakenFor: "copy of " + name + ", left alone"})
			continue
		}
		first[r.sum] = files[i].name
		have, known, clock := map[string]bool{}, "", logbook.Source{}
		for _, o := range old {
			if o.Hash == s.Hash {
				known = o.About.Name
				if o.About.ClockOffsetS.OK && !clock.About.ClockOffsetS.OK {
					clock = o
				}
				for _, d := range slices.Concat(held[o.ID], o.LeftOut) {
					have[d] = true
				}
			}
		}
		if known != "" {
			// Its days are those by the clock that the logbook has put right.
			if s, err = s.As(clock, set.Zone); err != nil {
				return Imported{}, err
			}
			s = s.Only(set.Zone, func(day string) bool { return !have[day] })
			s.Problems = nil // they are there
			if len(s.Days(set.Zone)) == 0 {
				im.Sources = append(im.Sources, ingest.Source{Name: files[i].name, TakenFor: "in the logbook already, from " + known})
				continue
			}
		}
		im.Sources = append(im.Sources, s.About)
		im.Problems = append(im.Problems, s.Problems...)
		p.fresh = append(p.fresh, s)
		p.shown = append(p.shown, len(im.Sources)-1)
	}
	if len(p.fresh) == 0 {
		return im, nil
	}
	if err := p.derive(ctx); err != nil {
		return Imported{}, err
	}
	if again == AskAgain && len(p.twice) > 0 {
		return Imported{}, TwiceError{p.twice}
	}
	c.Replace, c.Days, c.Sources = p.replace, p.days, p.sources
	if err := b.make(ctx); err != nil {
		return Imported{}, err
	}
	if err := b.Apply(ctx, c); err != nil {
		return Imported{}, err
	}
	ctx = context.WithoutCancel(ctx) // it is done: an interrupt now must not say otherwise
	im.Files, im.Twice = len(p.fresh), p.twice
	for i, s := range p.fresh {
		a := &im.Sources[p.shown[i]]
		*a = s.About
		a.Flagged = p.flagged[i]
	}
	im.Unplaced = p.unplaced
	days, err := b.Days(ctx)
	if err != nil {
		return im, fmt.Errorf("the files were added, but what the logbook has now can't be told: %w", err)
	}
	touched := map[string]bool{}
	for _, d := range p.days {
		touched[d.Day] = true
	}
	for _, d := range days {
		if touched[d.Day] {
			im.Days = append(im.Days, d)
		}
	}
	return im, nil
}

// A plan works out what an import changes.
type plan struct {
	book    *Book
	set     logbook.Settings
	opt     Options
	again   Again
	old     []logbook.Source         // in the logbook, without records
	heavy   map[int64][]string       // of each in the logbook the days that it has fixes or soundings of
	fresh   []logbook.Source         // to be added
	moved   map[int64]logbook.Source // in the logbook, whose clock this import puts right: whole, its days cut anew
	tracked map[string]bool          // days in the logbook that have a track
	wide    map[int]bool             // fresh sources that are looked at together with the days beside theirs
	shown   []int                    // of each fresh source, its index in what is shown

	twice    []Twice
	replace  []logbook.SourceDay
	days     []logbook.DayRows
	sources  []logbook.Source // of the change
	flagged  []map[string]int // of each fresh source
	unplaced []ingest.Unplaced
}

// A group is days that must be looked at together, since one clock may run through them.
type group struct {
	days    map[string]bool
	sources []logbook.Source // those in the logbook, then fresh ones
	fresh   []int            // of each source its index in plan.fresh, -1 for one in the logbook

	twice    []Twice
	replace  []logbook.SourceDay
	leftOut  map[int][]string // by fresh source
	rows     []logbook.DayRows
	flagged  []map[string]int
	unplaced []ingest.Unplaced
	err      error
}

// has reports whether a source of the logbook is in the group.
func (g *group) has(id int64) bool {
	return slices.ContainsFunc(g.sources, func(s logbook.Source) bool { return s.ID == id })
}

// derive works out the whole change, group by group.
func (p *plan) derive(ctx context.Context) error {
	var groups []*group
	for again := true; again; {
		var err error
		if groups, err = p.workAll(ctx); err != nil {
			return err
		}
		// A clock put right may take records to another day, and one that no track of its days could tell may be told by
		// one of the next day: then all of it once more. Each source is cut anew once and widened once.
		moved, err := p.recut(ctx, groups)
		if err != nil {
			return err
		}
		again = p.widen(groups) || moved
	}
	for _, g := range groups {
		p.twice = append(p.twice, g.twice...)
		p.replace = append(p.replace, g.replace...)
	}
	if p.again == AskAgain && len(p.twice) > 0 {
		return nil // nothing will be changed, and nothing was worked out
	}
	// The change has each source once, those of the logbook first, by their numbers.
	at := map[int64]int{} // by number, the index in p.sources
	for _, o := range p.old {
		if !slices.ContainsFunc(groups, func(g *group) bool { return g.has(o.ID) }) {
			continue
		}
		at[o.ID] = len(p.sources)
		if m, ok := p.moved[o.ID]; ok {
			o = m
		}
		p.sources = append(p.sources, o)
	}
	firstFresh := len(p.sources)
	p.flagged = make([]map[string]int, len(p.fresh))
	for _, s := range p.fresh {
		s.Chunks, s.Events, s.Levels, s.Winds = nil, nil, nil, nil
		p.sources = append(p.sources, s)
	}
	for _, g := range groups {
		index := make([]int, len(g.sources))
		for i, s := range g.sources {
			index[i] = at[s.ID]
			k := g.fresh[i]
			if k >= 0 {
				index[i] = firstFresh + k
			}
			to := &p.sources[index[i]]
			to.Events = append(to.Events, s.Events...)
			if s.FoundS.OK || !to.FoundS.OK && len(s.Chunks) > 0 || to.About.RowsRead == 0 {
				to.FoundS, to.About = s.FoundS, s.About
			}
			to.About.Flagged = nil
			if k < 0 {
				continue
			}
			to.Chunks, to.Levels, to.Winds = append(to.Chunks, s.Chunks...), append(to.Levels, s.Levels...), append(to.Winds, s.Winds...)
			to.LeftOut = append(to.LeftOut, g.leftOut[k]...)
			for name, n := range g.flagged[i] {
				if p.flagged[k] == nil {
					p.flagged[k] = map[string]int{}
				}
				p.flagged[k][name] += n
			}
		}
		for _, r := range g.rows {
			for i := range r.Tracks {
				r.Tracks[i].Source = index[r.Tracks[i].Source]
			}
			for i := range r.Thinned {
				r.Thinned[i].Source = index[r.Thinned[i].Source]
			}
			p.days = append(p.days, r)
		}
		for _, u := range g.unplaced {
			if k := g.fresh[u.Source]; k >= 0 {
				u.Source = p.shown[k]
				p.unplaced = append(p.unplaced, u)
			}
		}
	}
	for _, r := range p.replace { // a source cut anew is written whole
		s := &p.sources[at[r.Source]]
		*s = s.Only(p.set.Zone, func(d string) bool { return d != r.Day })
		s.LeftOut = append(s.LeftOut, r.Day)
	}
	for i := firstFresh; i < len(p.sources); i++ {
		s := &p.sources[i]
		slices.SortStableFunc(s.Events, func(a, b logbook.Event) int { return a.Place - b.Place })
		p.fresh[i-firstFresh].About = s.About
	}
	slices.SortFunc(p.days, func(a, b logbook.DayRows) int { return strings.Compare(a.Day, b.Day) })
	slices.SortStableFunc(p.unplaced, func(a, b ingest.Unplaced) int { return a.Source - b.Source })
	return nil
}

// workAll groups the days and works on each group.
func (p *plan) workAll(ctx context.Context) ([]*group, error) {
	groups := p.groups()
	each(len(groups), func(i int) { groups[i].err = p.work(ctx, groups[i]) })
	for _, g := range groups {
		if g.err != nil {
			return nil, g.err
		}
	}
	return groups, nil
}

// recut cuts the days anew of every source whose clock was put right, and reports whether any record came to another day.
func (p *plan) recut(ctx context.Context, groups []*group) (moved bool, err error) {
	for _, g := range groups {
		for i, s := range g.sources {
			if !s.FoundS.OK {
				continue
			}
			var whole logbook.Source
			if k := g.fresh[i]; k >= 0 {
				if p.fresh[k].FoundS.OK {
					continue
				}
				whole = p.fresh[k]
			} else {
				o := slices.IndexFunc(p.old, func(o logbook.Source) bool { return o.ID == s.ID })
				if _, done := p.moved[s.ID]; done || p.old[o].FoundS.OK {
					continue
				}
				if whole, err = p.book.Whole(ctx, p.old[o]); err != nil {
					return false, err
				}
			}
			whole.FoundS, whole.About = s.FoundS, s.About
			whole.About.Flagged = nil
			switch strays, err := whole.Strays(p.set.Zone); {
			case err != nil:
				return false, err
			case !strays:
				continue
			}
			again, err := whole.Recut(p.set.Zone)
			if err != nil {
				return false, err
			}
			if slices.EqualFunc(again.Chunks, whole.Chunks, func(a, b logbook.Chunk) bool { return a.Day == b.Day && a.N == b.N }) {
				continue
			}
			moved = true
			if k := g.fresh[i]; k >= 0 {
				again.Moved = false
				p.fresh[k] = again
			} else {
				if p.moved == nil {
					p.moved = map[int64]logbook.Source{}
				}
				p.moved[s.ID] = again
			}
		}
	}
	return moved, nil
}

// widen finds the logs whose clock no track of their own days could tell, and reports whether there are tracks of the days beside
// them to ask.
func (p *plan) widen(groups []*group) (more bool) {
	tracked := map[string]bool{}
	for d := range p.tracked {
		tracked[d] = true
	}
	for _, s := range p.fresh {
		for _, c := range s.Chunks {
			if c.Kind == logbook.Fixes {
				tracked[c.Day] = true
			}
		}
	}
	for _, g := range groups {
		for i, s := range g.sources {
			k := g.fresh[i]
			if k < 0 || p.wide[k] || !isLog(s) || s.About.ClockOffsetS.OK {
				continue
			}
			if p.wide == nil {
				p.wide = map[int]bool{}
			}
			p.wide[k] = true
			more = more || slices.ContainsFunc(around(heavyDays(s)), func(d string) bool { return tracked[d] && !g.days[d] })
		}
	}
	return more
}

// groups puts the days that change together by the fixes and soundings they share a source of, and gives every group its
// sources' records.
func (p *plan) groups() []*group {
	heavyOld := map[int64][]string{}
	maps.Copy(heavyOld, p.heavy)
	zone := p.set.Zone
	for id, s := range p.moved {
		for _, c := range s.Chunks {
			if !slices.Contains(heavyOld[id], c.Day) {
				heavyOld[id] = append(slices.Clone(heavyOld[id]), c.Day)
			}
		}
	}
	days := map[string]bool{}
	tracks := false
	// A clock that nobody could tell yet is off by less than a day: a track of the day before or after may tell it.
	unsure := func(s logbook.Source, days []string) bool { return !s.About.ClockOffsetS.OK && len(days) > 0 }
	for i, s := range p.fresh {
		for _, d := range s.Days(zone) {
			days[d] = true
		}
		if p.wide[i] {
			for _, d := range around(heavyDays(s)) {
				days[d] = true
			}
		}
		tracks = tracks || slices.ContainsFunc(s.Chunks, func(c logbook.Chunk) bool { return c.Kind == logbook.Fixes })
	}
	delete(days, "")
	// A log in the logbook whose clock nobody could tell may be told now: then all of its days change.
	for more := tracks; more; {
		more = false
		for _, s := range p.old {
			if s.About.ClockOffsetS.OK || !slices.ContainsFunc(around(heavyOld[s.ID]), func(d string) bool { return days[d] }) {
				continue
			}
			for _, d := range around(heavyOld[s.ID]) {
				if d != "" && !days[d] {
					days[d], more = true, true
				}
			}
		}
	}
	// Union of days.
	parent := map[string]string{}
	var root func(d string) string
	root = func(d string) string {
		if up, ok := parent[d]; ok && up != d {
			parent[d] = root(up)
			return parent[d]
		}
		return d
	}
	unite := func(list []string) {
		first := ""
		for _, d := range list {
			if !days[d] {
				continue
			}
			if first == "" {
				first = root(d)
			}
			parent[root(d)] = first
		}
	}
	for i, s := range p.fresh {
		heavy := heavyDays(s)
		if p.wide[i] {
			heavy = around(heavy)
		}
		unite(heavy)
	}
	for _, s := range p.old {
		heavy := heavyOld[s.ID]
		if tracks && unsure(s, heavy) {
			heavy = around(heavy)
		}
		unite(heavy)
	}
	byRoot := map[string]*group{}
	var groups []*group
	for _, d := range slices.Sorted(maps.Keys(days)) {
		g := byRoot[root(d)]
		if g == nil {
			g = &group{days: map[string]bool{}}
			byRoot[root(d)] = g
			groups = append(groups, g)
		}
		g.days[d] = true
	}
	undated := &group{days: map[string]bool{}}
	for i, s := range p.fresh {
		rest := s.Only(zone, func(d string) bool { return d == "" })
		for _, g := range groups {
			part := s.Only(zone, func(d string) bool { return g.days[d] })
			if len(part.Days(zone)) == 0 {
				continue
			}
			if len(rest.Days(zone)) > 0 { // what has no time goes with the first of the dated
				part = s.Only(zone, func(d string) bool { return d == "" || g.days[d] })
				rest = logbook.Source{}
			}
			g.sources, g.fresh = append(g.sources, part), append(g.fresh, i)
		}
		if len(rest.Days(zone)) > 0 {
			undated.sources, undated.fresh = append(undated.sources, rest), append(undated.fresh, i)
		}
	}
	if len(undated.sources) > 0 {
		groups = append(groups, undated)
	}
	return groups
}

func heavyDays(s logbook.Source) (days []string) {
	for _, c := range s.Chunks {
		days = append(days, c.Day)
	}
	return days
}

// isLog reports whether a source has soundings and no track, so that its clock may be put right.
func isLog(s logbook.Source) bool {
	return len(s.Chunks) > 0 && !slices.ContainsFunc(s.Chunks, func(c logbook.Chunk) bool { return c.Kind == logbook.Fixes })
}

// around returns days with those before and after each.
func around(days []string) (list []string) {
	for _, d := range days {
		t, err := time.Parse(time.DateOnly, d)
		if err != nil {
			continue
		}
		for k := -1; k <= 1; k++ {
			list = append(list, t.AddDate(0, 0, k).Format(time.DateOnly))
		}
	}
	return list
}

// withMoved puts sources whose days were cut anew in the place of what the logbook has of them.
func (p *plan) withMoved(have []logbook.Source, g *group, zone *time.Location) []logbook.Source {
	for _, id := range slices.Sorted(maps.Keys(p.moved)) {
		m := p.moved[id].Only(zone, func(d string) bool { return g.days[d] })
		i := slices.IndexFunc(have, func(s logbook.Source) bool { return s.ID >= id })
		switch {
		case i >= 0 && have[i].ID == id:
			m.Events, m.Levels, m.Winds = have[i].Events, have[i].Levels, have[i].Winds
			have[i] = m
		case len(m.Chunks) == 0:
		case i < 0:
			have = append(have, m)
		default:
			have = slices.Insert(have, i, m)
		}
	}
	return have
}

// work finds what comes again, puts clocks right, and derives what the layers show.
func (p *plan) work(ctx context.Context, g *group) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	zone := p.set.Zone
	if len(p.old) > 0 && len(g.days) > 0 {
		have, now, err := p.book.Read(ctx, logbook.Part{Days: slices.Sorted(maps.Keys(g.days))})
		if err != nil {
			return err
		}
		if now.Changes != p.set.Changes {
			return logbook.ErrChanged
		}
		have = p.withMoved(have, g, zone)
		fresh := make([]int, len(have), len(have)+len(g.fresh))
		for i := range fresh {
			fresh[i] = -1
		}
		g.sources, g.fresh = append(have, g.sources...), append(fresh, g.fresh...)
		if err := p.settleTwice(g, zone); err != nil {
			return err
		}
		if p.again == AskAgain && len(g.twice) > 0 {
			return nil // nothing will be changed
		}
	}
	records, err := recordsOf(ctx, g.sources)
	if err != nil {
		return err
	}
	tracks := false
	for i, r := range records {
		tracks = tracks || g.fresh[i] >= 0 && slices.ContainsFunc(r.Tracks, func(t ingest.Track) bool { return !t.FromLog })
	}
	flag(records, p.opt.Depth.TransducerM, func(i int) bool {
		return g.sources[i].FoundS.OK || g.fresh[i] < 0 && (g.sources[i].About.ClockOffsetS.OK || !tracks)
	})
	var all []ingest.Track
	for _, r := range records {
		all = append(all, r.Tracks...)
	}
	path := join.NewPath(all)
	g.flagged = make([]map[string]int, len(records))
	for i := range records {
		s, r := &g.sources[i], &records[i]
		if r.Source.ClockOffsetS.OK && !s.About.ClockOffsetS.OK {
			s.FoundS = r.Source.ClockOffsetS
		}
		g.flagged[i] = r.Source.Flagged
		s.About = r.Source
		for k := range s.Events {
			e := &s.Events[k]
			if e.HasPos {
				continue
			}
			e.At, e.HasAt = orb.Point{}, false
			if !e.Time.IsZero() {
				if at, why := path.At(e.Time, p.opt.MaxGap); why == "" {
					e.At, e.By, e.HasAt = at, ingest.ByTrack, true
				}
			}
		}
	}
	season := join.Season(records, join.Options{Zone: zone, MaxGap: p.opt.MaxGap, Depth: p.opt.Depth, Levels: p.opt.Levels, Path: &path})
	g.unplaced = season.Unplaced
	rows := map[string]logbook.DayRows{}
	for _, d := range season.Days {
		rows[d.Date] = logbook.Rows(d)
		d.GiveBack()
	}
	for i := range records {
		records[i].GiveBack()
	}
	for _, d := range slices.Sorted(maps.Keys(g.days)) {
		r, ok := rows[d]
		if !ok {
			r = logbook.DayRows{Day: d, Held: slices.ContainsFunc(g.sources, func(s logbook.Source) bool { return s.Has(d) })}
		}
		g.rows = append(g.rows, r)
	}
	return nil
}
