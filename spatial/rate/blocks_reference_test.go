//go:build reference

package rate

import (
	"bytes"
	"encoding/json"
	"math/rand/v2"
	"os/exec"
	"testing"
)

// Held against astropy.stats.bayesian_blocks (Debian's python3-astropy; 5.2.1 when this
// was written) on made sets of event times, some with counts.

type eventSet struct {
	P0            float64
	Times, Counts []float64
	Edges         []float64 `json:",omitempty"`
}

func eventSets() []eventSet {
	rng := rand.New(rand.NewPCG(764, 167))
	var sets []eventSet
	for k := range 120 {
		s := eventSet{P0: []float64{0.3, 0.05, 0.01, 0.001}[k%4]}
		at, rate := 0.0, 2.0
		for range 5 + rng.IntN(150) {
			if rng.IntN(15) == 0 { // another rate from here
				rate = 0.5 + 12*rng.Float64()
			}
			at += 0.002 + rng.ExpFloat64()/rate
			s.Times = append(s.Times, at)
			n := 1.0
			if k%3 == 0 { // more of them while it is fast
				n = float64(1 + rng.IntN(1+int(rate)))
			}
			s.Counts = append(s.Counts, n)
		}
		sets = append(sets, s)
	}
	return sets
}

const astropy = `
import json, sys
from astropy.stats import bayesian_blocks
sets = json.load(sys.stdin)
for s in sets:
    s["Edges"] = list(bayesian_blocks(s["Times"], s["Counts"], fitness="events", p0=s["P0"]))
json.dump(sets, sys.stdout)
`

func TestBlocksAgainstAstropy(t *testing.T) {
	sets := eventSets()
	in, err := json.Marshal(sets)
	if err != nil {
		t.Fatal(err)
	}
	var out []byte
	// Another Python may come first on the path; Debian's packages belong to its own.
	for _, program := range []string{"/usr/bin/python3", "python3"} {
		cmd := exec.Command(program, "-c", astropy)
		cmd.Stdin = bytes.NewReader(in)
		if out, err = cmd.Output(); err == nil {
			break
		}
	}
	if err != nil {
		t.Fatalf("python3 with astropy: %v: install python3-astropy", err)
	}
	var done []eventSet
	if err := json.Unmarshal(out, &done); err != nil {
		t.Fatal(err)
	}
	blocks := 0
	for k, s := range sets {
		bounds, widths := cellsOf(s.Times)
		got := edgesOf(Blocks(s.Counts, widths, s.P0), bounds)
		// The same midpoints: only a printed and read float64 between them.
		if !sameEdges(got, done[k].Edges) {
			t.Errorf("set %d: edges %v, want %v", k, got, done[k].Edges)
		}
		blocks += len(got) - 1
	}
	if len(done) != len(sets) || blocks < 2*len(sets) {
		t.Errorf("%d sets came back with %d blocks", len(done), blocks)
	}
	t.Logf("%d sets, %d blocks", len(sets), blocks)
}
