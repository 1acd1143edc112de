package ingest

import (
	"errors"
	"fmt"
	"strings"
	"time"
)

// A Column is one column of a table and what it was read as.
type Column struct {
	Name   string // as the header spells it
	ReadAs string // "time", "depth", …; empty when it was not used
	Unit   string // unit the values were taken to be in; empty when it has none
}

// A Source is one file and what became of its rows.
// RowsRead = Used + Repaired + SetAside holds for every reader.
type Source struct {
	Name         string // as the person named it
	TakenFor     string // what the file was recognised as
	Columns      []Column
	RowsRead     int
	Used         int
	Repaired     int
	SetAside     int
	Flagged      map[string]int // rows kept but left out of the analysis, by reason
	Zone         string         // zone that times without one were read in; empty when all carried one
	ClockOffsetS Maybe          // seconds added to this file's clock; unknown when none was applied or asked for
	Clock        string         // in words after "the clock": how it stands to the track's, and how sure that is
	ClockInDoubt bool           // likely off, by how much isn't sure
}

// Records is what one reader found in one file. The Source fields of the
// records are 0 until package load gives the file its number.
type Records struct {
	Source    Source
	Tracks    []Track
	Soundings []Sounding
	Events    []Event
	Levels    []Level
	Winds     []Wind
	Problems  []Problem
}

// ReadOptions is what a person said about files that don't say it themselves.
type ReadOptions struct {
	Zone        *time.Location // for clock times without a zone; nil: such times are refused
	DepthUnit   string         // "m", "ft" or "fathom" for a depth column without a unit; empty: refused
	DateOrder   string         // "ymd", "dmy" or "mdy" for dates that could be read two ways; empty: refused
	NoChecksums bool           // take NMEA sentences whose checksum is wrong

	// Columns says what a table's columns are, by the name in its header or by
	// their place ("1", "2", …): a word of csvfile's dictionary, with a unit where
	// it has one, such as "depth_ft". It wins over the header, and makes a table
	// without a header readable.
	Columns     map[string]string
	ClockOffset time.Duration // added to every time in the file
}

// Outcome says what became of a row that has a Problem.
type Outcome uint8

// The outcomes.
const (
	SetAside Outcome = iota // the row was not used
	Repaired                // the row was used after a correction, or without the bad value
	InDoubt                 // the row was used as it stands
)

var outcomes = [...]string{"row set aside", "row used without it", "row kept in doubt"}

// String returns the words a person reads, such as "row set aside".
func (o Outcome) String() string { return outcomes[o] }

// The kinds of problem, for errors.Is.
var (
	ErrNumber    = errors.New("not a number")
	ErrTime      = errors.New("not a time")
	ErrPosition  = errors.New("not a position")
	ErrRange     = errors.New("out of range")
	ErrMissing   = errors.New("missing")
	ErrWord      = errors.New("not a known word")
	ErrTruncated = errors.New("file breaks off")
	ErrShape     = errors.New("a row of the wrong shape")
	ErrChecksum  = errors.New("not the checksum of the line")
	ErrZone      = errors.New("a time without a zone") // also of a whole file that is refused for it
)

// A Problem is one row, or one value in it, that could not be used as it
// stands. It is collected, not returned, and travels to the report.
type Problem struct {
	File    string
	Line    int    // 1-based; 0 when the file as a whole is meant
	Field   string // column or element; empty when the row as a whole is meant
	Found   string // the text as found
	Wanted  string // what would have been accepted
	Outcome Outcome
	Kind    error  // one of the Err values above
	Row     string // the row word for word, when it was set aside and is text
}

// Error returns one line: file:line: field: what was found, what was wanted, outcome.
func (p Problem) Error() string {
	var b strings.Builder
	b.WriteString(p.File)
	if p.Line > 0 {
		fmt.Fprintf(&b, ":%d", p.Line)
	}
	b.WriteString(": ")
	b.WriteString(p.Reason())
	b.WriteString("; ")
	b.WriteString(p.Outcome.String())
	return b.String()
}

// Reason returns the middle part of Error: field, what was found and what was wanted.
func (p Problem) Reason() string {
	var b strings.Builder
	if p.Field != "" {
		b.WriteString(p.Field)
		b.WriteString(": ")
	}
	switch {
	case errors.Is(p.Kind, ErrMissing):
		b.WriteString("missing")
	case p.Found == "" && p.Kind != nil:
		b.WriteString(p.Kind.Error())
	default:
		fmt.Fprintf(&b, "%q is %v", clip(p.Found), p.Kind)
	}
	if p.Wanted != "" {
		b.WriteString(", wanted ")
		b.WriteString(p.Wanted)
	}
	return b.String()
}

// Unwrap returns the kind, so that errors.Is works on a Problem.
func (p Problem) Unwrap() error { return p.Kind }

// clip keeps a hostile value from flooding the screen.
func clip(s string) string {
	const most = 60
	r := []rune(s)
	if len(r) <= most {
		return s
	}
	return string(r[:most]) + "…"
}
