package main

import (
	"bufio"
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/bottom"
	"leadline/spatial/isoline"
	"leadline/spatial/raster"
)

// The grid that all contenders make.
const (
	cellM     = 5
	gridReach = 30
	contourM  = 1
	wide      = 2000
	high      = 1000
)

// grid makes a depth map of soundings as package analyse does where no day and no time is
// known, but for what no peer does: strays, crossings, areas and labels.
func grid(args []string) error {
	soundings, err := xyz(args[0])
	if err != nil {
		return err
	}
	start := time.Now()
	m, err := bottom.Thin(soundings, cellM, gridReach).Build(context.Background(), gridReach)
	if err != nil {
		return err
	}
	levels, lines := contours(m.Depth)
	inside(start)
	for _, t := range m.Trials {
		if t.Chosen {
			fmt.Println("method chosen:", t.Method)
		}
	}
	if err := create(filepath.Join(args[1], "ours.f32"), func(w *bufio.Writer) error {
		for y := range high {
			for x := range wide {
				v, ok := m.Depth.At(m.Depth.Cell(r2.Vec{X: (float64(x) + 0.5) * cellM, Y: (float64(y) + 0.5) * cellM}))
				if !ok {
					v = math.NaN()
				}
				var b [4]byte
				binary.LittleEndian.PutUint32(b[:], math.Float32bits(float32(v)))
				w.Write(b[:])
			}
		}
		return nil
	}); err != nil {
		return err
	}
	return create(filepath.Join(args[1], "ours.geojson"), func(w *bufio.Writer) error {
		fmt.Fprint(w, `{"type":"FeatureCollection","features":[`)
		sep := "\n"
		for i, chains := range lines {
			for _, l := range chains {
				fmt.Fprintf(w, `%s{"type":"Feature","properties":{"depth":%g},"geometry":{"type":"LineString","coordinates":[`, sep, levels[i])
				for k, v := range l {
					if k > 0 {
						w.WriteByte(',')
					}
					b := append(w.AvailableBuffer(), '[')
					b = strconv.AppendFloat(b, v.X, 'f', 2, 64)
					b = append(b, ',')
					b = strconv.AppendFloat(b, v.Y, 'f', 2, 64)
					w.Write(append(b, ']'))
				}
				fmt.Fprint(w, "]}}")
				sep = ",\n"
			}
		}
		fmt.Fprint(w, "\n]}\n")
		return nil
	})
}

// contours draws the lines of all whole levels.
func contours(r raster.Raster) (levels []float64, lines [][][]r2.Vec) {
	shallow, deep, ok := r.Range()
	if !ok {
		return nil, nil
	}
	for d := math.Ceil(shallow); d <= deep; d += contourM {
		levels = append(levels, d)
	}
	return levels, isoline.Lines(r, levels)
}

// xyz reads a table of metres east, metres north and depth, with a header.
func xyz(name string) ([]bottom.Sounding, error) {
	text, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	soundings := make([]bottom.Sounding, 0, bytes.Count(text, []byte{'\n'}))
	for line := range bytes.Lines(text) {
		if len(soundings) == 0 && line[0] == 'x' {
			continue
		}
		x, rest, _ := bytes.Cut(bytes.TrimSpace(line), []byte{','})
		y, z, _ := bytes.Cut(rest, []byte{','})
		s := bottom.Sounding{Day: -1}
		for _, f := range []struct {
			to   *float64
			text []byte
		}{{&s.At.X, x}, {&s.At.Y, y}, {&s.DepthM, z}} {
			if *f.to, err = strconv.ParseFloat(string(f.text), 64); err != nil {
				return nil, fmt.Errorf("%s: %w", name, err)
			}
		}
		soundings = append(soundings, s)
	}
	return soundings, nil
}
