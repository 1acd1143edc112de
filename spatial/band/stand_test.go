package band

import (
	"math"
	"testing"

	"leadline/ingest"
)

func TestAbove(t *testing.T) {
	known := func(depths ...float64) (out []ingest.Maybe) {
		for _, m := range depths {
			out = append(out, ingest.Known(m))
		}
		return out
	}
	unknown := ingest.Maybe{}
	for name, c := range map[string]struct {
		fish, bottom []ingest.Maybe
		want         Stand
	}{
		"no fish":                {nil, nil, Stand{}},
		"by hand":                {known(3, 7.5, 9), known(8, 8, 8.5), Stand{Suspended: 1, OnBottom: 2, MedianM: ingest.Known(0.5)}},
		"a metre is on it":       {known(7.3), known(8.3), Stand{OnBottom: 1, MedianM: ingest.Known(1)}},
		"more is above":          {known(7), known(8.1), Stand{Suspended: 1, MedianM: ingest.Known(1.1)}},
		"a tenth in deep water":  {known(18.1, 17.9), known(20, 20), Stand{Suspended: 1, OnBottom: 1, MedianM: ingest.Known(2)}},
		"deeper than the bottom": {known(9), known(5), Stand{OnBottom: 1, MedianM: ingest.Known(0)}},
		"either unknown": {[]ingest.Maybe{unknown, ingest.Known(3), unknown}, []ingest.Maybe{ingest.Known(5), unknown, unknown},
			Stand{Unknown: 3}},
		"even number": {known(2, 4, 6, 7), known(10, 10, 10, 10), Stand{Suspended: 4, MedianM: ingest.Known(5)}},
	} {
		got := Above(c.fish, c.bottom)
		if math.Abs(got.MedianM.V-c.want.MedianM.V) > 1e-9 {
			t.Errorf("%s: median %v, want %v", name, got.MedianM, c.want.MedianM)
		}
		got.MedianM.V = c.want.MedianM.V
		if got != c.want {
			t.Errorf("%s: %+v, want %+v", name, got, c.want)
		}
	}
}
