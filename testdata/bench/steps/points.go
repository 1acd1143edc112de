package main

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"time"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/density"
)

// The reach and the least number of points that all contenders cluster with.
const (
	reachM = 15
	least  = 10
)

func cluster(args []string) error {
	raw, err := os.ReadFile(args[0])
	if err != nil {
		return err
	}
	points := make([]r2.Vec, len(raw)/16)
	for i := range points {
		points[i].X = math.Float64frombits(binary.LittleEndian.Uint64(raw[16*i:]))
		points[i].Y = math.Float64frombits(binary.LittleEndian.Uint64(raw[16*i+8:]))
	}
	start := time.Now()
	labels := density.Cluster(points, reachM, least)
	inside(start)
	clusters, noise := -1, 0
	for _, l := range labels {
		clusters = max(clusters, int(l))
		if l == density.Noise {
			noise++
		}
	}
	fmt.Printf("%d clusters, %d points of none\n", clusters+1, noise)
	return create(args[1], func(w *bufio.Writer) error {
		for _, l := range labels {
			var b [4]byte
			binary.LittleEndian.PutUint32(b[:], uint32(int32(l)))
			w.Write(b[:])
		}
		return nil
	})
}
