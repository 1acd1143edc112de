package gpxfile

import (
	"strings"
	"unicode/utf8"

	"leadline/ingest"
)

// A ledger is the list of a file's problems. A file can be wrong on every line:
// the first mostProblems are kept, the others counted.
type ledger struct {
	list  []ingest.Problem
	first ingest.Problem // of those not kept
	more  [ingest.InDoubt + 1]int
}

const (
	mostProblems = 10_000
	foundBytes   = 256 // of a value as found; a person reads less than that of it
)

func (l *ledger) add(p ingest.Problem) {
	if len(l.list) < mostProblems {
		l.last(p)
		return
	}
	if l.notKept() == 0 {
		l.first = p
	}
	l.more[p.Outcome]++
}

// last adds a problem of the file as a whole, which is kept however many there are.
func (l *ledger) last(p ingest.Problem) {
	if len(p.Found) > foundBytes {
		end := foundBytes
		for end > 0 && !utf8.RuneStart(p.Found[end]) {
			end--
		}
		p.Found = strings.Clone(p.Found[:end]) + "…"
	}
	l.list = append(l.list, p)
}

func (l *ledger) notKept() (n int) {
	for _, m := range l.more {
		n += m
	}
	return n
}

// close says in one problem how many were not kept.
func (l *ledger) close() []ingest.Problem {
	if l.notKept() == 0 {
		return l.list
	}
	var parts []string
	p := ingest.Problem{File: l.first.File, Line: l.first.Line, Field: l.first.Field, Found: l.first.Found, Kind: l.first.Kind, Outcome: ingest.InDoubt}
	for o, n := range l.more {
		if n > 0 {
			parts = append(parts, count(n, "more problem")+" with "+ingest.Outcome(o).String())
			p.Outcome = min(p.Outcome, ingest.Outcome(o))
		}
	}
	p.Wanted = "this and what follows it right: from here on problems were counted, not listed: " + strings.Join(parts, ", ")
	l.last(p)
	return l.list
}
