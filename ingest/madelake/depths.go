package madelake

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/si"
)

// A defect is what went wrong with one sounding.
type defect uint8

const (
	sound defect = iota
	lockLost
	doubleEcho
	depthSpike
	dashed // "--" in place of the depth
	blank  // nothing in place of it
)

type sounding struct {
	ms     int     // of the day's path
	depthM float64 // below the transducer, as logged
	tempC  float64
	defect defect
}

// text writes the depth in a unit of so many metres.
func (s sounding) text(decimals int, unitM float64) string {
	switch s.defect {
	case lockLost:
		return strconv.FormatFloat(0, 'f', decimals, 64)
	case dashed:
		return "--"
	case blank:
		return ""
	}
	return strconv.FormatFloat(s.depthM/unitM, 'f', decimals, 64)
}

// soundings reads the depth at the given milliseconds of the day and puts in the
// defects, counting them. At least two sound rows lie between any two defects.
func (w *world) soundings(d *day, times []int, truth *FileTruth) []sounding {
	r := stream(w.plan.Seed, stageSonar, d.index)
	out := make([]sounding, len(times))
	for i, ms := range times {
		at := d.at(ms)
		out[i] = sounding{ms: ms,
			depthM: math.Max(0.1, w.depthM(d, at)-transducerM+0.08*r.NormFloat64()),
			tempC:  w.tempC(d, ms/1000, at)}
	}
	for i := 2; i < len(out)-2; {
		everyS := float64(out[i].ms-out[i-1].ms) / 1000
		m := d.path[out[i].ms/1000].mode
		lostPerS := 1.0 / 1500
		if m == running {
			lostPerS = 1.0 / 200
		}
		deep := out[i].depthM > 3 && m != running && m != atRamp
		n := 0
		switch f := r.Float64() / everyS; {
		case f < lostPerS:
			n = mark(r, out[i:], lockLost, 3, 30)
			truth.LockLosses++
			truth.LockLostRows += n
		case f < lostPerS+1.0/1500 && deep:
			n = mark(r, out[i:], doubleEcho, 1, 8)
			truth.DoubleEchoes++
			truth.DoubleEchoRows += n
		case f < lostPerS+2.0/1500 && deep:
			// A weed or a passing fish above, or a reading from nowhere below.
			k := between(r, 0.2, 0.4)
			if r.IntN(2) == 0 {
				k = between(r, 2.7, 3.5)
			}
			out[i].depthM *= k
			out[i].defect = depthSpike
			truth.DepthSpikes++
			n = 1
		}
		if n == 0 {
			i++
		} else {
			i += n + 2
		}
	}
	return out
}

// mark gives a run of rows from the first one a defect and returns how many. It
// lasts between loS and hiS seconds, at least one row, and ends two rows early
// rather than run into the end of the log.
func mark(r *rand.Rand, rows []sounding, what defect, loS, hiS float64) int {
	last := between(r, loS, hiS)
	n := 0
	for n < len(rows)-2 && (n == 0 || float64(rows[n].ms-rows[0].ms)/1000 < last) {
		if what == doubleEcho {
			// The echo goes up to the surface, down and back a second time.
			rows[n].depthM *= 2
		}
		rows[n].defect = what
		n++
	}
	return n
}

// tempC is the water's temperature: falling over the season, rising through
// the day, a little colder in the creek.
func (w *world) tempC(d *day, second int, at r2.Vec) float64 {
	season := d.start.Sub(firstDay).Hours() / 24 / seasonDays
	return 20.5 - 6.5*season + 0.12*(d.hourAt(second)-7) - 0.6/(1+math.Exp((650-at.Y)/60))
}

// The layouts of a depth log.
const (
	layoutUTC       = iota // time,depth_ft,water_temp_f,speed_mph
	layoutLocal            // Date;Time;Depth (m);Water temp (C)
	layoutComma            // the same with decimal commas
	layoutPositions        // time,lat,lon,depth_ft,water_temp_f
)

var layouts = [...]int{layoutUTC, layoutLocal, layoutUTC, layoutUTC, layoutLocal, layoutComma, layoutPositions, layoutUTC}

// depthLog writes the day's soundings in the layout of its place in the season.
func (w *world) depthLog(d *day, heard []r2.Vec) File {
	r := stream(w.plan.Seed, stageSonar, d.index, 1)
	every := 6
	if w.plan.Size == Full {
		every = 1
	}
	truth := FileTruth{Name: d.date + "-sonar.csv", IntervalS: float64(every)}
	layout := layouts[d.index%len(layouts)]
	if d.index == clockDay {
		truth.ClockAheadS = clockAheadS
	}
	// Switched on a little after the track began, off a little before its end.
	var times []int
	for s := 20 + r.IntN(60); s < len(d.path)-30; s += every {
		times = append(times, 1000*s)
	}
	rows := w.soundings(d, times, &truth)
	if d.index%3 == 0 {
		for k := range 3 + r.IntN(3) {
			i := 2 + r.IntN(len(rows)-4)
			for rows[i-1].defect != sound || rows[i].defect != sound || rows[i+1].defect != sound {
				i = 2 + r.IntN(len(rows)-4)
			}
			if k%2 == 0 {
				rows[i].defect = dashed
				truth.DashRows++
			} else {
				rows[i].defect = blank
				truth.BlankRows++
			}
		}
	}
	truth.Rows = len(rows)
	var b bytes.Buffer
	b.WriteString([...]string{
		"time,depth_ft,water_temp_f,speed_mph\n",
		"Date;Time;Depth (m);Water temp (C)\n",
		"Date;Time;Depth (m);Water temp (C)\n",
		"time,lat,lon,depth_ft,water_temp_f\n",
	}[layout])
	for _, s := range rows {
		second := s.ms / 1000
		t := d.start.Add(time.Duration(second)*time.Second + time.Duration(truth.ClockAheadS)*time.Second)
		stamp, tempF := t.Format(time.RFC3339), s.tempC*9/5+32
		switch layout {
		case layoutUTC:
			mph := math.Max(0, d.speedMPS(second)/si.MPHMPS+0.1*r.NormFloat64())
			fmt.Fprintf(&b, "%s,%s,%.1f,%.1f\n", stamp, s.text(1, si.FootM), tempF, mph)
		case layoutPositions:
			p := frame.Degrees(heard[second])
			fmt.Fprintf(&b, "%s,%.6f,%.6f,%s,%.1f\n", stamp, p.Lat(), p.Lon(), s.text(1, si.FootM), tempF)
		default:
			row := fmt.Sprintf("%s;%s;%.1f\n", t.In(zone).Format("2006-01-02;15:04:05"), s.text(2, 1), s.tempC)
			if layout == layoutComma {
				row = strings.ReplaceAll(row, ".", ",")
			}
			b.WriteString(row)
		}
	}
	w.files = append(w.files, truth)
	return File{truth.Name, b.Bytes()}
}
