package madelake

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strconv"
	"time"

	"leadline/ingest"
	"leadline/ingest/si"
)

// catchesFile writes the season's catch log on the local clock, without the day
// whose events are waypoints. Two rows are dirty: one with "--" for a depth and
// one of nothing but commas.
func (w *world) catchesFile() File {
	truth := FileTruth{Name: "catches.csv"}
	var b bytes.Buffer
	c := csv.NewWriter(&b)
	write := func(row ...string) {
		if err := c.Write(row); err != nil {
			panic(err) // a buffer takes everything
		}
	}
	write("date", "time", "kind", "species", "count", "length_in", "depth_ft", "head_oz", "lat", "lon", "note")
	for i := range w.events {
		e := &w.events[i]
		if e.file != "" {
			continue
		}
		e.file = truth.Name
		truth.Rows++
		depth := number(e.notedM, si.FootM, 1)
		if truth.DashRows == 0 && truth.Rows > 5 && !e.notedM.OK {
			depth = "--"
			truth.DashRows++
		}
		lat, lon := "", ""
		if e.notedPlace {
			p := frame.Degrees(e.place)
			lat, lon = fmt.Sprintf("%.6f", p.Lat()), fmt.Sprintf("%.6f", p.Lon())
		}
		t := w.eventTime(*e).In(zone)
		write(t.Format(time.DateOnly), t.Format(time.TimeOnly), e.kind.String(), e.species, strconv.Itoa(e.count),
			number(e.lengthM, si.InchM, 2), depth, number(e.headOz, 1, 3), lat, lon, e.note)
		if truth.Rows == 9 && truth.BlankRows == 0 {
			write("", "", "", "", "", "", "", "", "", "", "")
			truth.BlankRows++
			truth.Rows++
		}
	}
	c.Flush()
	w.files = append(w.files, truth)
	return File{truth.Name, b.Bytes()}
}

// number writes a figure in a unit without needless zeros, or nothing.
func number(m ingest.Maybe, unit float64, decimals int) string {
	if !m.OK {
		return ""
	}
	return strconv.FormatFloat(round(m.V/unit, decimals), 'f', -1, 64)
}

// levelsFile writes the gauge for every day of the season, once with "--" on a
// day without fishing.
func (w *world) levelsFile() File {
	truth := FileTruth{Name: "levels.csv"}
	var b bytes.Buffer
	b.WriteString("date,level_ft\n")
	fished := map[string]bool{}
	for _, d := range w.days {
		fished[d.date] = true
	}
	last := w.days[len(w.days)-1].date
	for after := 0; ; after++ {
		date := firstDay.AddDate(0, 0, after).Format(time.DateOnly)
		text := fmt.Sprintf("%.2f", levelM(after)/si.FootM)
		if truth.DashRows == 0 && after > 3 && !fished[date] {
			text = "--"
			truth.DashRows++
		}
		fmt.Fprintf(&b, "%s,%s\n", date, text)
		truth.Rows++
		if date == last {
			break
		}
	}
	w.files = append(w.files, truth)
	return File{truth.Name, b.Bytes()}
}

func boatFile() File {
	return File{"boat.toml", []byte(`tz = "Etc/GMT+3"
units = "us"
transducer_depth = "1ft"
cast = "25m"
`)}
}

func readmeFile() File {
	return File{"README.txt", []byte(`An invented autumn season on Lantern Hollow Reservoir, a lake that doesn't exist.
It is placed in the open Atlantic so that nobody takes it for a real one; no person, boat or catch in it is real.
The recordings are the .gpx and .csv files; truth.json tells what is so on the lake and is not for the program to read.
`)}
}
