// Command made writes what the benchmark's contenders work on: days, long logs,
// scattered points and soundings of an invented reservoir, the same bytes each time
// on one kind of processor.
//
//	go run ./testdata/bench/made DIR quick|season
//
// The files of quick:
//
//	day.gpx day.csv marks.gpx   a day of 36,000 fixes, its sonar log, 2,000 catches and marks
//	million.gpx million.csv     the same for 1,000,000 fixes
//	points-*.f64                points to cluster: x and y of each, little-endian
//	scattered.csv along.csv     1,000,000 soundings x,y,z in metres: anywhere, and along a boat's way
//	truth.f32                   the bottom itself at the middles of 2000 by 1000 cells of 5 m
//
// Season writes 200 days of 36,000 fixes, as many soundings and 25 catches each.
package main

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"time"
)

func main() {
	if len(os.Args) != 3 || os.Args[2] != "quick" && os.Args[2] != "season" {
		fmt.Fprintln(os.Stderr, "usage: made DIR quick|season")
		os.Exit(2)
	}
	m := &maker{dir: os.Args[1]}
	if os.Args[2] == "season" {
		m.season()
	} else {
		m.quick()
	}
	if m.err != nil {
		fmt.Fprintln(os.Stderr, "made:", m.err)
		os.Exit(1)
	}
}

// A maker writes files into a folder until the first error.
type maker struct {
	dir string
	err error
}

// file writes one file.
func (m *maker) file(name string, write func(w *bufio.Writer)) {
	if m.err != nil {
		return
	}
	f, err := os.Create(filepath.Join(m.dir, name))
	if err != nil {
		m.err = err
		return
	}
	w := bufio.NewWriterSize(f, 1<<20)
	write(w)
	if m.err = w.Flush(); m.err == nil {
		m.err = f.Close()
	}
}

// random returns the numbers of one file; each has its own, so that none hangs on another.
func random(file uint64) *rand.Rand { return rand.New(rand.NewPCG(file, 0x6c656164)) }

const day = 36000 // seconds on the water

var firstDay = time.Date(2031, time.October, 4, 10, 0, 0, 0, time.UTC)

func (m *maker) quick() {
	rng := random(1)
	way := sail(day, box{3400, 1500, 6400, 3500}, spots(12, box{3500, 1600, 6300, 3400}, rng), rng)
	m.gpx("day.gpx", way, firstDay, true)
	m.log("day.csv", way, firstDay, 300*time.Millisecond)
	m.marks("marks.gpx", way, firstDay, random(2))

	rng = random(3)
	way = sail(1_000_000, whole, spots(60, whole.shrunk(100), rng), rng)
	m.gpx("million.gpx", way, firstDay, true)
	m.log("million.csv", way, firstDay, 0)
	m.file("along.csv", func(w *bufio.Writer) {
		fmt.Fprintln(w, "x,y,z")
		for _, p := range way {
			fmt.Fprintf(w, "%.2f,%.2f,%.2f\n", p.x, p.y, p.soundM)
		}
	})
	way = nil

	m.points("points-100k.f64", 100_000, 50, random(4))
	m.points("points-400k.f64", 400_000, 5000, random(5))
	m.points("points-1m.f64", 1_000_000, 50, random(6))

	rng = random(7)
	m.file("scattered.csv", func(w *bufio.Writer) {
		fmt.Fprintln(w, "x,y,z")
		for range 1_000_000 {
			x, y := whole.within(rng)
			fmt.Fprintf(w, "%.2f,%.2f,%.2f\n", x, y, bottomM(x, y)+noiseM*rng.NormFloat64())
		}
	})
	m.file("truth.f32", func(w *bufio.Writer) {
		const cellM = 5
		for y := cellM / 2.; y < whole.y1; y += cellM {
			for x := cellM / 2.; x < whole.x1; x += cellM {
				var b [4]byte
				binary.LittleEndian.PutUint32(b[:], math.Float32bits(float32(bottomM(x, y))))
				w.Write(b[:])
			}
		}
	})
}

// season writes day after day into folders of their own, so that some of them can be read by themselves.
func (m *maker) season() {
	rng := random(10)
	places := spots(40, whole.shrunk(200), rng)
	for n := range 200 {
		rng := random(100 + uint64(n))
		// A skipper goes to some of his spots, not to the same place on each to the foot.
		today := make([]spot, 14)
		for i := range today {
			p := places[rng.IntN(len(places))]
			today[i] = spot{p.x + 20*rng.NormFloat64(), p.y + 20*rng.NormFloat64(), p.fish}
		}
		way := sail(day, whole, today, rng)
		start := firstDay.AddDate(0, 0, n)
		dir := fmt.Sprintf("d%03d", n+1)
		if err := os.MkdirAll(filepath.Join(m.dir, dir), 0o777); err != nil && m.err == nil {
			m.err = err
		}
		m.gpx(filepath.Join(dir, "track.gpx"), way, start, false)
		m.log(filepath.Join(dir, "sonar.csv"), way, start, 300*time.Millisecond)
		m.catches(filepath.Join(dir, "catches.csv"), way, start, rng)
	}
}

// points writes n points, seven of ten in clumps, the others anywhere.
func (m *maker) points(name string, n, clumps int, rng *rand.Rand) {
	type clump struct{ x, y, sdM float64 }
	all := make([]clump, clumps)
	for i := range all {
		x, y := whole.within(rng)
		all[i] = clump{x, y, 8 + 30*rng.Float64()}
	}
	m.file(name, func(w *bufio.Writer) {
		for range n {
			x, y := whole.within(rng)
			if rng.Float64() < 0.7 {
				c := all[rng.IntN(clumps)]
				x, y = c.x+c.sdM*rng.NormFloat64(), c.y+c.sdM*rng.NormFloat64()
			}
			var b [16]byte
			binary.LittleEndian.PutUint64(b[:8], math.Float64bits(x))
			binary.LittleEndian.PutUint64(b[8:], math.Float64bits(y))
			w.Write(b[:])
		}
	})
}
