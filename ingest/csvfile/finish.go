package csvfile

import (
	"fmt"
	"strconv"

	"leadline/ingest"
)

// finish settles what only the whole file can settle.
func (t *table) finish() error {
	t.out.Soundings = t.soundings.all()
	s := &t.out.Source
	if n := t.misshapen.rows; n > 1 && n == s.RowsRead && t.misshapenCells >= 0 {
		return fmt.Errorf("%s:%d: all rows have %d cells, as %q, and the header names %d; wanted a name for each, or a decimal comma not to be taken for one between cells, or the cells said by place, as in --column=%d=none",
			t.name, t.misshapen.line, t.misshapenCells, t.misshapen.text, len(t.columns), t.misshapenCells)
	}
	if 2*t.far > t.positions {
		return fmt.Errorf("%s:%d: %q and %d more of %d positions in columns %q and %q are no degrees; they look like metres of a grid, or degrees and minutes run together; wanted degrees from -90 to 90 and -180 to 180",
			t.name, t.farFirst.line, t.farFirst.text, t.far-1, t.positions, t.nameOf(colLat), t.nameOf(colLon))
	}
	err := t.clock.finish(t.name, func(i int, m moment) {
		switch t.kind {
		case depthLog:
			t.out.Soundings[i].Time = m.time
		case catchLog:
			t.out.Events[i].Time = m.time
		case levelTable:
			t.setLevelTime(&t.out.Levels[i], m)
		case windTable:
			t.out.Winds[i].Time = m.time
		}
	})
	if err != nil {
		return err
	}
	if err := t.sequence(); err != nil {
		return err
	}
	t.sayCounts()
	t.sortProblems()
	s.Name, s.TakenFor = t.name, takenFor[t.kind]
	for i, c := range t.columns {
		out := ingest.Column{Name: c.name}
		if c.role != unknown && c.by != byNobody && t.at[c.role] == i {
			out.ReadAs, out.Unit = meanings[c.role].readAs, c.unit
			switch {
			case c.role == colLat || c.role == colLon:
				out.Unit = "deg"
			case c.role == colWindFrom:
				out.Unit = "deg"
			case c.by == byCell:
				out.Unit = "in the cells"
			case c.utc:
				out.Unit = "UTC"
			}
			if c.role == colDepth && c.ref != ingest.BelowTransducer {
				out.ReadAs += " " + c.ref.String()
			}
		}
		s.Columns = append(s.Columns, out)
	}
	if t.clock.bare > 0 {
		s.Zone = t.opt.Zone.String()
	}
	if t.opt.ClockOffset != 0 {
		s.ClockOffsetS = ingest.Known(t.opt.ClockOffset.Seconds())
	}
	return nil
}

// sayCounts notes what befell many rows alike, once.
func (t *table) sayCounts() {
	if z := t.zeros; z.rows > 0 {
		t.said(z.line, t.nameOf(colLat), fmt.Sprintf("%s in %s, as receivers say before they know where they are; read without a position", z.text, rowsWord(z.rows)), ingest.ErrPosition)
	}
	for shown, w := range t.clock.changes {
		if w.rows > 0 {
			t.said(w.line, "time", fmt.Sprintf("clocks show %q %s as they change (%s); read as before the change, wanted a zone behind it", w.text, [...]string{"never", "twice"}[shown], rowsWord(w.rows)), ingest.ErrTime)
		}
	}
	if c := t.clock; c.zoned > 0 && c.bare > 0 {
		t.said(c.bareAt.line, "time", fmt.Sprintf("%q has no zone, alike in %s of %d; those without are read in %s", c.bareAt.text, rowsWord(c.bare), c.bare+c.zoned, t.opt.Zone), ingest.ErrTime)
	}
	for _, r := range t.rivals {
		if r.differ.rows > 0 {
			t.said(r.differ.line, t.columns[r.column].name, fmt.Sprintf("%s here: differs by more than rounding in %s", r.differ.text, rowsWord(r.differ.rows)), ingest.ErrRange)
		}
	}
	if t.kind == depthLog && t.deepest <= 0 && t.shallow < 0 {
		for i := range t.out.Soundings {
			t.out.Soundings[i].DepthM = max(0, -t.out.Soundings[i].DepthM)
		}
		t.fileSaid(t.nameOf(colDepth), "all depths are zero or negative; taken as positive down", ingest.ErrRange)
	}
}

func rowsWord(n int) string {
	if n == 1 {
		return "1 row"
	}
	return strconv.Itoa(n) + " rows"
}
