package csvfile

import (
	"fmt"
	"sort"
	"strings"

	"leadline/ingest"
)

// The problems of a file that are listed, and the bytes of their rows: more are
// counted only. rowBytes is as much of one row as is kept.
const (
	mostProblems  = 10000
	mostRowsBytes = 16 << 20
	rowBytes      = 64 << 10
)

// unlisted counts the problems beyond those listed.
type unlisted struct {
	counted
	bytes int // of rows listed
}

// summary is the kind of a problem in words of its own.
type summary struct {
	text string
	kind error
}

func (s *summary) Error() string { return s.text }
func (s *summary) Unwrap() error { return s.kind }

// said notes what was done with many rows, or with a line that is no row.
func (t *table) said(line int, field, text string, kind error) {
	t.out.Problems = append(t.out.Problems, ingest.Problem{File: t.name, Line: line, Field: field, Outcome: ingest.InDoubt, Kind: &summary{text, kind}})
}

// fileSaid notes what was done with a whole column.
func (t *table) fileSaid(field, text string, kind error) { t.said(0, field, text, kind) }

// fileProblem notes what concerns a whole column.
func (t *table) fileProblem(field, found, wanted string, kind error) {
	t.out.Problems = append(t.out.Problems, ingest.Problem{File: t.name, Field: field, Found: found, Wanted: wanted, Outcome: ingest.InDoubt, Kind: kind})
}

// problem notes what is wrong with the row at hand.
func (t *table) problem(field, found, wanted string, kind error, o ingest.Outcome) {
	t.problems = append(t.problems, ingest.Problem{File: t.name, Line: t.line, Field: field, Found: found, Wanted: wanted, Outcome: o, Kind: kind})
}

// tally counts the row at hand by its problems. Those of a row that is set aside
// all say so.
func (t *table) tally() {
	o := ingest.InDoubt
	for _, p := range t.problems {
		o = min(o, p.Outcome)
	}
	for _, p := range t.problems {
		if t.unlisted.rows > 0 || len(t.out.Problems) >= mostProblems || t.unlisted.bytes >= mostRowsBytes {
			t.unlisted.add(t.line, "")
			continue
		}
		p.Found = strings.Clone(clip(p.Found))
		if o == ingest.SetAside {
			p.Outcome = o
			p.Row = strings.ToValidUTF8(t.raw.text[:min(len(t.raw.text), rowBytes)], "")
			t.unlisted.bytes += len(p.Row)
		}
		t.out.Problems = append(t.out.Problems, p)
	}
	t.problems = t.problems[:0]
	s := &t.out.Source
	s.RowsRead++
	switch o {
	case ingest.SetAside:
		s.SetAside++
	case ingest.Repaired:
		s.Repaired++
	default:
		s.Used++
	}
}

// sortProblems puts the problems in the order of lines and counts those not listed.
func (t *table) sortProblems() {
	if n := t.unlisted.rows; n > 0 {
		t.said(t.unlisted.line, "", fmt.Sprintf("%d more problems from this row on are counted above and not listed", n), ingest.ErrShape)
	}
	sort.SliceStable(t.out.Problems, func(i, j int) bool { return t.out.Problems[i].Line < t.out.Problems[j].Line })
}
