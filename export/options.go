package export

import (
	"maps"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// Options is what a person may choose about the outputs. The zero value is US
// units, a plain title and no GPX symbol.
type Options struct {
	Units si.System // of everything a person reads
	Title string    // heading of the report and name of the overlays; empty: "Fishing zones"
	Sym   string    // GPX sym of the waypoints; empty: none is written
}

// Heading returns the title, or the plain one when none was given.
func (o Options) Heading() string {
	if o.Title == "" {
		return "Fishing zones"
	}
	return o.Title
}

// Findings is everything a writer is given: the chart, and what became of every
// file that was read for it.
type Findings struct {
	Chart    spatial.Chart
	Sources  []ingest.Source
	Problems []ingest.Problem
	Unplaced []ingest.Unplaced // Source is an index into Sources
	Settings *spatial.Settings // nil: not said in the outputs
}

// SourceName returns the name of the file with that number, or "" when there is
// no such file.
func (f Findings) SourceName(source int) string {
	if source < 0 || source >= len(f.Sources) {
		return ""
	}
	return f.Sources[source].Name
}

// OtherPasses is the reason for which soundings stay out of the bottom when other
// passes speak against them.
const OtherPasses = "other passes disagree"

// Flagged returns how many rows of a file were kept but left out of the analysis,
// by reason: by the reader's and joiner's word, and by the bottom's.
func (f Findings) Flagged(source int) map[string]int {
	out := maps.Clone(f.Sources[source].Flagged)
	if source < len(f.Chart.Bottom.StraysOf) && f.Chart.Bottom.StraysOf[source] > 0 {
		if out == nil {
			out = map[string]int{}
		}
		out[OtherPasses] = f.Chart.Bottom.StraysOf[source]
	}
	return out
}

// A Tally is how many records share one reason.
type Tally struct {
	What   string // "sounding", "catch", …
	Reason string
	Count  int
}

// UnplacedTallies counts the unplaced records by kind and reason, in the order
// in which each first occurs.
func (f Findings) UnplacedTallies() []Tally {
	type key struct{ what, reason string }
	at := map[key]int{}
	var out []Tally
	for _, u := range f.Unplaced {
		k := key{u.What, u.Reason}
		i, seen := at[k]
		if !seen {
			i = len(out)
			at[k] = i
			out = append(out, Tally{What: u.What, Reason: u.Reason})
		}
		out[i].Count += u.Count
	}
	return out
}
