package main

import (
	"encoding/binary"
	"fmt"
	"math"
	"os"
)

// The reach and the least number of points that all contenders cluster with.
const (
	reachM = 15
	least  = 10
)

type point struct{ x, y float64 }

// labels compares labels point for point, clusters numbered by their first core.
//
// A border point may lie within reach of cores of several clusters. The paper of DBSCAN
// leaves open which of them it joins: such points are counted, and anything else that
// differs is an error.
func labels(pointsName, oursName, theirsName string) (string, error) {
	raw, err := os.ReadFile(pointsName)
	if err != nil {
		return "", err
	}
	points := make([]point, len(raw)/16)
	for i := range points {
		points[i] = point{math.Float64frombits(binary.LittleEndian.Uint64(raw[16*i:])), math.Float64frombits(binary.LittleEndian.Uint64(raw[16*i+8:]))}
	}
	ours, err := readLabels(oursName, len(points))
	if err != nil {
		return "", err
	}
	theirs, err := readLabels(theirsName, len(points))
	if err != nil {
		return "", err
	}
	near := newSquares(points)
	core := make([]bool, len(points))
	cores := 0
	for i := range points {
		// Counting to the tenth is enough, and keeps crowds cheap.
		n := 0
		near.each(i, func(int) bool { n++; return n < least })
		if core[i] = n >= least; core[i] {
			cores++
		}
	}
	canonical(ours, core)
	canonical(theirs, core)
	clusters, borders, open := int32(0), 0, 0
	for i := range points {
		clusters = max(clusters, ours[i]+1)
		if !core[i] && ours[i] >= 0 {
			borders++
		}
		if ours[i] == theirs[i] {
			continue
		}
		if core[i] || ours[i] < 0 || theirs[i] < 0 || !near.reaches(i, core, ours, ours[i]) || !near.reaches(i, core, ours, theirs[i]) {
			return "", fmt.Errorf("%s: point %d (core: %v) is of cluster %d, and in %s of %d", oursName, i, core[i], ours[i], theirsName, theirs[i])
		}
		open++
	}
	line := fmt.Sprintf("%d points, %d clusters: the same labels for all %d cores and all noise", len(points), clusters, cores)
	if open > 0 {
		return line + fmt.Sprintf("; %d of %d border points lie between two clusters and went to the other", open, borders), nil
	}
	return line + fmt.Sprintf(" and all %d border points", borders), nil
}

func readLabels(name string, n int) ([]int32, error) {
	raw, err := os.ReadFile(name)
	if err != nil {
		return nil, err
	}
	if len(raw) != 4*n {
		return nil, fmt.Errorf("%s: %d labels for %d points", name, len(raw)/4, n)
	}
	out := make([]int32, n)
	for i := range out {
		out[i] = int32(binary.LittleEndian.Uint32(raw[4*i:]))
	}
	return out, nil
}

// canonical numbers clusters anew in the order of their first core.
func canonical(labels []int32, core []bool) {
	number := map[int32]int32{-1: -1}
	for i, l := range labels {
		if _, seen := number[l]; core[i] && !seen {
			number[l] = int32(len(number) - 1)
		}
	}
	for i, l := range labels {
		n, seen := number[l]
		if !seen {
			n = -2 // a cluster without a core: no label of the other side is like it
		}
		labels[i] = n
	}
}

// squares is points by squares as wide as the reach.
type squares struct {
	points []point
	at     map[[2]int32][]int32
}

func square(p point) [2]int32 {
	return [2]int32{int32(math.Floor(p.x / reachM)), int32(math.Floor(p.y / reachM))}
}

func newSquares(points []point) squares {
	s := squares{points, map[[2]int32][]int32{}}
	for i, p := range points {
		s.at[square(p)] = append(s.at[square(p)], int32(i))
	}
	return s
}

// each calls f with the points within reach of one, itself too, until f returns false.
func (s squares) each(i int, f func(j int) bool) {
	p := s.points[i]
	at := square(p)
	for y := at[1] - 1; y <= at[1]+1; y++ {
		for x := at[0] - 1; x <= at[0]+1; x++ {
			for _, j := range s.at[[2]int32{x, y}] {
				dx, dy := s.points[j].x-p.x, s.points[j].y-p.y
				if dx*dx+dy*dy <= reachM*reachM && !f(int(j)) {
					return
				}
			}
		}
	}
}

// reaches reports whether a core of a cluster lies within reach of a point.
func (s squares) reaches(i int, core []bool, labels []int32, cluster int32) bool {
	found := false
	s.each(i, func(j int) bool {
		found = core[j] && labels[j] == cluster
		return !found
	})
	return found
}
