package zone

import (
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest"
)

func TestPart(t *testing.T) {
	unknown := ingest.Maybe{}
	k := ingest.Known
	group := func(depth, hour float64, n int) (d, h []ingest.Maybe) {
		for i := range n {
			d = append(d, k(depth+0.3*float64(i%3-1)))
			h = append(h, k(hour+0.1*float64(i)))
		}
		return d, h
	}
	both := func(d1, h1 float64, n1 int, d2, h2 float64, n2 int, extra ...ingest.Maybe) (d, h []ingest.Maybe) {
		d, h = group(d1, h1, n1)
		e, g := group(d2, h2, n2)
		d, h = append(d, e...), append(h, g...)
		for _, x := range extra { // events that note no depth, at these hours
			d, h = append(d, unknown), append(h, x)
		}
		return d, h
	}
	for _, c := range []struct {
		name  string
		depth func() (d, h []ingest.Maybe)
		ok    bool
		last  []bool // groups of the events that note no depth
	}{
		{"two depths", func() (d, h []ingest.Maybe) { return both(3, 7, 6, 8, 7, 6) }, true, nil},
		{"a metre and a half apart", func() (d, h []ingest.Maybe) { return both(4, 7, 5, 5.5, 7, 5) }, false, nil},
		{"a stray or three", func() (d, h []ingest.Maybe) { return both(3, 7, 3, 8, 7, 9) }, false, nil},
		{"one depth at two hours", func() (d, h []ingest.Maybe) { return both(6, 7, 6, 6, 16, 6) }, false, nil},
		{"no notes", func() (d, h []ingest.Maybe) { return both(0, 0, 0, 0, 0, 0, k(7), k(8)) }, false, nil},
		{"by the hour", func() (d, h []ingest.Maybe) { return both(3, 7, 5, 8, 16, 5, k(7.2), k(15), unknown) }, true, []bool{false, true, true}},
		{"hours overlap", func() (d, h []ingest.Maybe) { return both(3, 7, 5, 8, 7.2, 7, k(7), k(15)) }, true, []bool{true, true}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d, h := c.depth()
			at := make([]r2.Vec, len(d)) // the upper school lies 100 m west of the deeper, the rest beside it
			for i := range at {
				if !d[i].OK || d[i].V > 5 {
					at[i].X = 100 + float64(i)
				}
			}
			deeper, ok := Part(at, d, h, 4)
			if ok != c.ok {
				t.Fatalf("parted %v, want %v", ok, c.ok)
			}
			if !ok {
				return
			}
			for i, x := range deeper[:len(d)-len(c.last)] {
				if x != (d[i].V > 5) {
					t.Errorf("event at %v m: deeper %v", d[i].V, x)
				}
			}
			for i, want := range c.last {
				if got := deeper[len(d)-len(c.last)+i]; got != want {
					t.Errorf("event %d without a note: deeper %v, want %v", i, got, want)
				}
			}
		})
	}
}

// One school spread evenly over its band is not parted by chance: a gain above 10 is
// very strong evidence, and it also takes a gap of a metre.
func TestPartKeepsOneBandWhole(t *testing.T) {
	rng := rand.New(rand.NewPCG(41, 42))
	parted := 0
	for range 1000 {
		n := 8 + rng.IntN(30)
		d, h := make([]ingest.Maybe, n), make([]ingest.Maybe, n)
		for i := range d {
			d[i] = ingest.Known(5 + 3*rng.Float64())
		}
		if _, ok := Part(make([]r2.Vec, n), d, h, 4); ok {
			parted++
		}
	}
	if parted > 10 {
		t.Errorf("%d of 1000 even bands of 3 m were parted", parted)
	}
}
