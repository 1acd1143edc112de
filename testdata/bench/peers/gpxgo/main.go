// Command gpxgo reads a GPX file with github.com/tkrajina/gpxgo alone. Given a second
// name it writes the points there, as steps gpx does, all of them without a depth.
package main

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"math"
	"os"
	"time"

	"github.com/tkrajina/gpxgo/gpx"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintln(os.Stderr, "gpxgo:", err)
		os.Exit(1)
	}
}

func run(args []string) error {
	if len(args) < 1 || len(args) > 2 {
		return fmt.Errorf("wanted FILE [POINTS], got %d words", len(args))
	}
	start := time.Now()
	doc, err := gpx.ParseFile(args[0])
	if err != nil {
		return err
	}
	fmt.Printf("inside %.6f\n%d points\n", time.Since(start).Seconds(), doc.GetTrackPointsNo())
	if len(args) < 2 {
		return nil
	}
	f, err := os.Create(args[1])
	if err != nil {
		return err
	}
	defer f.Close()
	w := bufio.NewWriterSize(f, 1<<18)
	for _, t := range doc.Tracks {
		for _, s := range t.Segments {
			for _, p := range s.Points {
				for _, v := range [...]uint64{
					math.Float64bits(p.Latitude), math.Float64bits(p.Longitude), uint64(p.Timestamp.UnixNano()), math.Float64bits(math.NaN()),
				} {
					w.Write(binary.LittleEndian.AppendUint64(nil, v))
				}
			}
		}
	}
	return w.Flush()
}
