package main

import (
	"bufio"
	"fmt"
	"math/rand/v2"
	"time"
)

const gpxHead = `<?xml version="1.0" encoding="UTF-8"?>
<gpx version="1.1" creator="made" xmlns="http://www.topografix.com/GPX/1/1" xmlns:echo="https://example.org/echo/1">
`

// gpx writes a track with a fix every second, with what the sounder heard if so wanted.
func (m *maker) gpx(name string, way []moment, start time.Time, heard bool) {
	m.file(name, func(w *bufio.Writer) {
		fmt.Fprint(w, gpxHead, "<trk><name>out and back</name><trkseg>\n")
		for i, p := range way {
			lat, lon := degrees(p.x, p.y)
			fmt.Fprintf(w, "<trkpt lat=\"%.7f\" lon=\"%.7f\"><ele>151.2</ele><time>%s</time><extensions>", lat, lon, start.Add(time.Duration(i)*time.Second).Format(time.RFC3339))
			if heard {
				fmt.Fprintf(w, "<echo:depth>%.2f</echo:depth><echo:wtemp>%.1f</echo:wtemp>", p.depthM, p.tempC)
			}
			fmt.Fprintf(w, "<echo:speed>%.2f</echo:speed></extensions></trkpt>\n", p.speedMPS)
		}
		fmt.Fprint(w, "</trkseg></trk>\n</gpx>\n")
	})
}

// log writes a sonar log with a row every second; its rows come so much later than the fixes.
func (m *maker) log(name string, way []moment, start time.Time, later time.Duration) {
	m.file(name, func(w *bufio.Writer) {
		fmt.Fprintln(w, "time,lat,lon,depth_m,water_temp_c,speed_mps")
		for i, p := range way {
			lat, lon := degrees(p.x, p.y)
			at := start.Add(time.Duration(i)*time.Second + later)
			fmt.Fprintf(w, "%s,%.7f,%.7f,%.2f,%.1f,%.2f\n", at.Format("2006-01-02T15:04:05.000Z"), lat, lon, p.depthM, p.tempC, p.speedMPS)
		}
	})
}

// marks writes 2,000 waypoints beside the boat's way, seven of ten of them in clumps;
// one in twenty is a catch.
func (m *maker) marks(name string, way []moment, start time.Time, rng *rand.Rand) {
	clumps := make([]int, 25)
	for i := range clumps {
		clumps[i] = rng.IntN(len(way))
	}
	m.file(name, func(w *bufio.Writer) {
		fmt.Fprint(w, gpxHead)
		for i := range 2000 {
			at, spreadM := rng.IntN(len(way)), 4.0
			if rng.Float64() < 0.7 {
				at, spreadM = clumps[rng.IntN(len(clumps))], 11
			}
			kind := "mark"
			if i%20 == 0 {
				kind = "catch"
			}
			lat, lon := degrees(way[at].x+spreadM*rng.NormFloat64(), way[at].y+spreadM*rng.NormFloat64())
			fmt.Fprintf(w, "<wpt lat=\"%.7f\" lon=\"%.7f\"><time>%s</time><name>%s %d</name><type>%s</type></wpt>\n",
				lat, lon, start.Add(time.Duration(at)*time.Second).Format(time.RFC3339), kind, i+1, kind)
		}
		fmt.Fprint(w, "</gpx>\n")
	})
}

// catches writes a day's 25 catches, four of five over fish where the day has such drifts.
func (m *maker) catches(name string, way []moment, start time.Time, rng *rand.Rand) {
	var over, anywhere []int
	for i, p := range way {
		if p.fish {
			over = append(over, i)
		}
		if p.drifting {
			anywhere = append(anywhere, i)
		}
	}
	m.file(name, func(w *bufio.Writer) {
		fmt.Fprintln(w, "time,kind,species,fish_depth_m")
		for i := range 25 {
			from := anywhere
			if i%5 > 0 && len(over) > 0 {
				from = over
			}
			at := from[rng.IntN(len(from))]
			p := way[at]
			fmt.Fprintf(w, "%s,catch,striped bass,%.1f\n", start.Add(time.Duration(at)*time.Second).Format(time.RFC3339), p.soundM*(0.6+0.3*rng.Float64()))
		}
	})
}
