package ingest

import (
	"errors"
	"strings"
	"testing"
)

func TestProblem(t *testing.T) {
	for _, c := range []struct {
		name string
		p    Problem
		want string
	}{
		{"value", Problem{File: "creek.csv", Line: 1042, Field: "depth_ft", Found: "--", Kind: ErrNumber}, `creek.csv:1042: depth_ft: "--" is not a number; row set aside`},
		{"wanted", Problem{File: "a.gpx", Line: 7, Field: "time", Found: "noon", Wanted: "RFC 3339", Outcome: Repaired, Kind: ErrTime}, `a.gpx:7: time: "noon" is not a time, wanted RFC 3339; row used without it`},
		{"missing says nothing found", Problem{File: "a.gpx", Line: 7, Field: "lat", Found: "", Kind: ErrMissing}, `a.gpx:7: lat: missing; row set aside`},
		{"file as a whole", Problem{File: "a.csv", Wanted: "a unit", Outcome: InDoubt, Kind: ErrMissing}, `a.csv: missing, wanted a unit; row kept in doubt`},
		{"nothing found", Problem{File: "a.gpx", Line: 7, Wanted: "</gpx>", Kind: ErrTruncated}, `a.gpx:7: file breaks off, wanted </gpx>; row set aside`},
		{"control characters", Problem{File: "a.csv", Line: 1, Found: "\x1b[2J\n", Kind: ErrShape}, `a.csv:1: "\x1b[2J\n" is a row of the wrong shape; row set aside`},
		{"long value", Problem{File: "a.csv", Line: 1, Found: strings.Repeat("ä", 100), Kind: ErrNumber}, `a.csv:1: "` + strings.Repeat("ä", 60) + `…" is not a number; row set aside`},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := c.p.Error(); got != c.want {
				t.Errorf("got  %s\nwant %s", got, c.want)
			}
			if !strings.Contains(c.want, c.p.Reason()) || c.p.Reason() == "" {
				t.Errorf("reason %q", c.p.Reason())
			}
			if !errors.Is(c.p, c.p.Kind) {
				t.Error("errors.Is does not find the kind")
			}
		})
	}
}

func TestOutcome(t *testing.T) {
	for o, want := range map[Outcome]string{SetAside: "row set aside", Repaired: "row used without it", InDoubt: "row kept in doubt"} {
		if o.String() != want {
			t.Errorf("%d: %s", o, o)
		}
	}
}
