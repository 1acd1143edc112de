package analyse

import (
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/plane"
	"leadline/spatial"
	"leadline/spatial/zone"
)

// movesOf gives a zone the movement of its centre, by day and by falling water. The
// two can't be told apart while a pool falls day by day: both are told.
func (a *analysis) movesOf(z *spatial.Zone, g ground) {
	var byDay, byLevel []zone.Mean
	for day, d := range a.season.Days {
		var members []int
		for _, i := range g.events {
			if a.events[i].day == day {
				members = append(members, i)
			}
		}
		date, err := time.Parse(time.DateOnly, d.Date)
		if len(members) == 0 || err != nil {
			continue
		}
		m := zone.Mean{At: a.middle(members), X: float64(date.Unix()) / 86400}
		byDay = append(byDay, m)
		if level := a.chart.Days[day].LevelM; level.OK {
			m.X = -level.V
			byLevel = append(byLevel, m)
		}
	}
	z.ByDay, z.ByLevel = moveOf(byDay), moveOf(byLevel)
}

func moveOf(means []zone.Mean) spatial.ZoneMove {
	m, ok := zone.Moves(means)
	if !ok {
		return spatial.ZoneMove{Days: len(means)}
	}
	out := spatial.ZoneMove{M: r2.Norm(m.PerX), ErrorM: m.Error, Days: m.Days, Sure: m.Sure(), OK: true}
	if out.M > 0 {
		out.TowardDeg = plane.BearingDeg(m.PerX)
	}
	return out
}
