package report

import (
	"fmt"
	"strings"

	"leadline/export"
	"leadline/ingest/si"
	"leadline/spatial"
)

type driftRow struct {
	ID, Toward, Length, Speed, Passes, Hours, Events, PerPass, Rate string
}

// mostProfiles is how many lines are drawn on the page: more than anyone fishes in a day. Of more
// lines those that gave nothing are not drawn.
const mostProfiles = 12

// A driftProfile is the bottom along one drift line, with its stretch in words.
type driftProfile struct {
	ID, Name, Best, Bottom string
	Picture                *profile // nil: no depth is known
}

func (p *content) drifts(c spatial.Chart, u si.System) {
	for _, l := range c.Drifts {
		p.Drifts = append(p.Drifts, driftRow{
			ID: l.ID, Toward: si.Compass(l.TowardDeg), Length: u.Distance(l.LengthM),
			Speed:  export.SpeedSpread(l.SpeedMPS, l.SpeedLowMPS, l.SpeedHighMPS, u),
			Passes: fmt.Sprintf("%d on %s", l.Passes, export.Plural(l.Days, "day")), Hours: hours(l.Hours), Events: export.Count(l.Events),
			PerPass: dash(strings.Replace(export.PerPassWords(l.PerPass), " a pass", "", 1)),
			Rate:    dash(strings.Replace(export.RateWords(l.Rate), " an hour", "", 1)),
		})
		if l.Events == 0 && len(c.Drifts) > mostProfiles || len(p.Profiles) == mostProfiles {
			continue
		}
		best := export.StretchWords(l, u)
		if l.ProductiveFromM.OK && l.ProductiveToM.OK {
			best = "best " + best
		}
		p.Profiles = append(p.Profiles, driftProfile{
			ID: l.ID, Name: strings.TrimPrefix(export.DriftName(l, u), l.ID+": "), Best: capital(best) + ".",
			Bottom: "Bottom: " + export.ProfileWords(l.Profile, u) + ".", Picture: newProfile(l, u),
		})
	}
	if left := len(p.Drifts) - len(p.Profiles); left > 0 {
		p.NoProfiles = fmt.Sprintf("The %s best are drawn; result.json has the bottom along the other %s.", export.Count(len(p.Profiles)), export.Count(left))
	}
	switch {
	case len(p.Drifts) > 0:
	case len(c.Tracks) == 0:
		p.DriftsEmpty = "There are no drift lines: no track was read."
	default:
		p.DriftsEmpty = "There are no drift lines: no two passes went the same way over the same water."
	}
}
