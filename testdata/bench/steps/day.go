package main

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/simplify"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/export"
	"leadline/export/geojsonfile"
	"leadline/ingest"
	"leadline/ingest/load"
	"leadline/ingest/plane"
	"leadline/ingest/si"
	"leadline/spatial"
	"leadline/spatial/bottom"
	"leadline/spatial/density"
	"leadline/spatial/motion"
	"leadline/spatial/zone"
)

func loaded(paths []string) (ingest.Season, error) {
	return load.Season(context.Background(), paths, load.Options{MaxGap: 10 * time.Second})
}

// write writes a chart as day.geojson.
func write(dir string, c spatial.Chart) error {
	if err := os.MkdirAll(dir, 0o777); err != nil {
		return err
	}
	fmt.Printf("%d zones, %d drifts, %d levels, %d catches and marks\n", len(c.Zones), len(c.Drifts), len(c.Contours), len(c.Events))
	return create(filepath.Join(dir, "day.geojson"), func(w *bufio.Writer) error {
		return geojsonfile.Write(w, export.Findings{Chart: c}, export.Options{Units: si.Metric})
	})
}

// day does with a day what peers/day.py does: join, clean, drifts, zones by density, grid, contours.
func day(args []string) error {
	season, err := loaded(args[:3])
	if err != nil {
		return err
	}
	if len(season.Days) != 1 {
		return fmt.Errorf("%d days, wanted one", len(season.Days))
	}
	d := season.Days[0]
	frame := plane.New(d.Tracks[0].Fixes[0].Pos)
	c := spatial.Chart{Drifts: drifts(d.Tracks, frame)}

	soundings := make([]bottom.Sounding, 0, len(d.Soundings))
	for i := range d.Soundings {
		if s := &d.Soundings[i]; s.Flags == 0 {
			soundings = append(soundings, bottom.Sounding{At: frame.Metres(s.At), DepthM: s.SurfaceM, S: s.Time.Sub(d.Soundings[0].Time).Seconds()})
		}
	}
	m, err := bottom.Thin(soundings, cellM, gridReach).Build(context.Background(), gridReach)
	if err != nil {
		return err
	}
	levels, lines := contours(m.Depth)
	for i, chains := range lines {
		level := spatial.Contour{DepthM: levels[i]}
		for _, l := range chains {
			level.Lines = append(level.Lines, degrees(l, frame))
		}
		c.Contours = append(c.Contours, level)
	}
	c.Zones = zones(d.Events, frame, m)
	fmt.Printf("%d soundings, %d of them sound\n", len(d.Soundings), len(soundings))
	return write(args[3], c)
}

func degrees(line []r2.Vec, frame plane.Frame) orb.LineString {
	out := make(orb.LineString, len(line))
	for i, v := range line {
		out[i] = frame.Degrees(v)
	}
	return out
}

// drifts returns each drift of a day as a line, thinned to a metre.
func drifts(tracks []ingest.Track, frame plane.Frame) []spatial.DriftLine {
	var steps []motion.Step
	var start time.Time
	for _, t := range tracks {
		for i := range t.Fixes {
			f := &t.Fixes[i]
			if f.Flags != 0 {
				continue
			}
			if len(steps) == 0 {
				start = f.Time
			}
			steps = append(steps, motion.Step{S: f.Time.Sub(start).Seconds(), At: frame.Metres(f.Pos)})
		}
	}
	track := motion.Read(steps, motion.Limits{RunMPS: 1.6, DriftMinS: 120, DriftMinM: 25, MaxGapS: 60})
	var out []spatial.DriftLine
	for _, leg := range track.Legs {
		if leg.State != motion.Drifting {
			continue
		}
		d := spatial.DriftLine{ID: fmt.Sprintf("D%d", len(out)+1), Passes: 1, SpeedMPS: leg.SpeedMPS, TowardDeg: leg.TowardDeg}
		var line orb.LineString
		for _, n := range track.Nodes[leg.From:leg.To] {
			line = append(line, orb.Point{n.At.X, n.At.Y})
			d.Hours += n.ForS / 3600
		}
		d.LengthM = d.SpeedMPS * d.Hours * 3600
		for _, p := range simplify.DouglasPeucker(1).LineString(line) {
			d.Line = append(d.Line, frame.Degrees(r2.Vec{X: p[0], Y: p[1]}))
		}
		out = append(out, d)
	}
	return out
}

// zones clusters catches and marks by density and draws a line around each cluster.
func zones(events []ingest.PlacedEvent, frame plane.Frame, m *bottom.Model) []spatial.Zone {
	at := make([]r2.Vec, len(events))
	for i, e := range events {
		at[i] = frame.Metres(e.At)
	}
	var members [][]int
	for i, l := range density.Cluster(at, reachM, least) {
		for l := int(l); l >= len(members); {
			members = append(members, nil)
		}
		if l != density.Noise {
			members[l] = append(members[l], i)
		}
	}
	out := make([]spatial.Zone, len(members))
	for k, which := range members {
		z := spatial.Zone{ID: fmt.Sprintf("Z%d", k+1), Events: len(which)}
		var places []r2.Vec
		sum, known := 0.0, 0
		for _, i := range which {
			places = append(places, at[i])
			if events[i].Kind == ingest.Catch {
				z.Catches++
			}
			if depthM, ok := m.DepthM(at[i]); ok {
				sum += depthM
				known++
			}
		}
		if known > 0 {
			z.BottomM = ingest.Known(sum / float64(known))
		}
		for _, ring := range zone.Outline(places, reachM, nil) {
			turned := make(orb.Ring, len(ring))
			for i, p := range ring {
				turned[i] = frame.Degrees(r2.Vec{X: p[0], Y: p[1]})
			}
			z.Shape = append(z.Shape, turned)
		}
		out[k] = z
	}
	return out
}
