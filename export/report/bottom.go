package report

import (
	"fmt"
	"strconv"
	"strings"

	"leadline/export"
	"leadline/ingest/si"
	"leadline/spatial"
)

// A bottomSection says how good the depths are.
type bottomSection struct {
	Made, Sure, Strays string
	Crossed            string // empty without crossings
	Standard           string
	Trials             []bottomTrial
}

type bottomTrial struct {
	Method, Mean, RMSE, Bias, P95, Places string
	Chosen                                bool
}

func (p *content) bottom(c spatial.Chart, u si.System) {
	b := c.Bottom
	if b.Cells == 0 {
		p.BottomEmpty = "There is no depth map: no sounding could be placed."
		return
	}
	s := &p.Bottom
	s.Made = fmt.Sprintf("%s cells of %s, %s of them sounded, on %s.",
		export.Count(b.Cells), u.Depth(b.CellM), export.Count(b.Sounded), export.Plural(b.Passes, "stretch of track", "stretches of track"))
	if t, ok := b.Chosen(); ok {
		s.Made += " Between soundings the bottom is drawn by " + t.Method + ", which did best on stretches of track it hadn't seen."
	} else {
		s.Made += " Too little water was sounded twice to try which way of drawing the bottom between soundings is best."
	}
	if b.U95M.OK {
		s.Sure = fmt.Sprintf("Half of the map is sure to ± %s or better, nineteen times in twenty.", export.FineDepth(b.U95M.V, u))
		switch share := b.Tested; {
		case share == 0:
			s.Sure += " That is reckoned, not tried."
		case share < 0.995:
			s.Sure += fmt.Sprintf(" For %.0f %% of it that was tried on stretches of track kept from it, as far away; for the rest it is reckoned.", 100*share)
		default:
			s.Sure += " That was tried on stretches of track kept from it."
		}
		if len(b.Unsure) > 0 {
			s.Sure += fmt.Sprintf(" Where it isn't sure to %s, the interval of the contours, the map is dotted.", export.FineDepth(b.UnsureM, u))
		}
	}
	switch b.Strays {
	case 0:
		s.Strays = "No sounding stands against those of other passes."
	case 1:
		s.Strays = "One sounding was left out because other passes speak against it."
	default:
		s.Strays = export.Count(b.Strays) + " soundings were left out because other passes speak against them."
	}
	s.crossings(b.Crossings, u)
	for _, t := range b.Trials {
		r := bottomTrial{Method: capital(t.Method), Mean: "–", RMSE: "–", Bias: "–", P95: "–", Places: export.Count(t.Places), Chosen: t.Chosen}
		if t.Places > 0 {
			r.Mean, r.RMSE, r.P95, r.Bias = hundredths(t.MeanM, u), hundredths(t.RMSEM, u), hundredths(t.P95M, u), hundredths(t.BiasM, u)
		}
		s.Trials = append(s.Trials, r)
	}
}

func (s *bottomSection) crossings(x spatial.Crossings, u si.System) {
	if x.N == 0 {
		s.Crossed = "The track never crosses itself, so nothing tells how well one sounding agrees with another."
		return
	}
	s.Crossed = fmt.Sprintf("Where the track crosses itself, in %s, two soundings differ by %s in the median and by no more than %s nineteen times in twenty: one sounding is good to ± %s.",
		export.Plural(x.N, "place"), export.FineDepth(x.MedianM.V, u), export.FineDepth(x.P95M.V, u), export.FineDepth(x.OneM.V, u))
	var limits []string
	for _, l := range x.Limits {
		limits = append(limits, fmt.Sprintf("± %s (%s)", export.FineDepth(l.M, u), l.Order))
	}
	s.Standard = fmt.Sprintf("For scale: in %s of water the survey standard IHO S-44 asks for %s. A survey asks for much more than that; crossings don't show what errs the same way on every pass.",
		u.Depth(x.DepthM.V), strings.Join(limits, ", "))
}

// hundredths prints a depth to a hundredth of its unit, so that near rivals can be
// told apart.
func hundredths(m float64, u si.System) string {
	if u == si.Metric {
		return strconv.FormatFloat(m, 'f', 2, 64) + " m"
	}
	return strconv.FormatFloat(m/si.FootM, 'f', 2, 64) + " ft"
}
