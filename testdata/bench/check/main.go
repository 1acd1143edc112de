// Command check holds what leadline found against what a peer found, or against the
// truth, and says in one line how they agree. It fails where they must and don't.
//
//	check labels POINTS OURS THEIRS   labels of clusters, 15 m and 10 points
//	check fixes OURS THEIRS           points of a track; THEIRS may be GDAL's table of track_points
//	check grid TRUTH OURS THEIRS      depths of 2000 by 1000 cells, THEIRS from north to south
package main

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
)

func main() {
	line, err := run(os.Args[1:])
	if err != nil {
		fmt.Fprintln(os.Stderr, "check:", err)
		os.Exit(1)
	}
	fmt.Println(line)
}

func run(args []string) (string, error) {
	switch {
	case len(args) == 4 && args[0] == "labels":
		return labels(args[1], args[2], args[3])
	case len(args) == 3 && args[0] == "fixes":
		return fixes(args[1], args[2])
	case len(args) == 4 && args[0] == "grid":
		return grid(args[1], args[2], args[3])
	}
	return "", fmt.Errorf("wanted labels, fixes or grid and its files, got %q", args)
}

// grid compares two depth maps with the truth where both know a depth.
func grid(truth, ours, theirs string) (string, error) {
	const w, h = 2000, 1000
	var maps [3][]float32
	for i, name := range []string{truth, ours, theirs} {
		raw, err := os.ReadFile(name)
		if err != nil {
			return "", err
		}
		if len(raw) != 4*w*h {
			return "", fmt.Errorf("%s: %d bytes, wanted %d", name, len(raw), 4*w*h)
		}
		for b := raw; len(b) > 0; b = b[4:] {
			maps[i] = append(maps[i], math.Float32frombits(binary.LittleEndian.Uint32(b)))
		}
	}
	var known [2]int
	var square [2]float64
	both := 0
	for y := range h {
		for x := range w {
			t, a, b := float64(maps[0][y*w+x]), float64(maps[1][y*w+x]), float64(maps[2][(h-1-y)*w+x])
			okA, okB := !math.IsNaN(a), b > -9000
			if okA {
				known[0]++
			}
			if okB {
				known[1]++
			}
			if okA && okB {
				both++
				square[0] += (a - t) * (a - t)
				square[1] += (b - t) * (b - t)
			}
		}
	}
	a, b := math.Sqrt(square[0]/float64(both)), math.Sqrt(square[1]/float64(both))
	line := fmt.Sprintf("RMSE to the made bottom over %d cells that both know: leadline %.4f m, gdal_grid %.4f m (cells known: %d and %d)", both, a, b, known[0], known[1])
	if !(a <= b) {
		return "", fmt.Errorf("%s: no worse was wanted", line)
	}
	return line, nil
}
