package main

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"math"
	"os"
	"time"
	"unsafe"

	"leadline/ingest"
	"leadline/ingest/csvfile"
	"leadline/ingest/gpxfile"
)

func readGPX(args []string) error {
	r, err := read(args[0], gpxfile.Read)
	if err != nil {
		return err
	}
	fixes := 0
	for _, t := range r.Tracks {
		fixes += len(t.Fixes)
	}
	fmt.Printf("%d fixes, %d soundings\n", fixes, len(r.Soundings))
	fmt.Printf("kept %d\n", fixes*int(unsafe.Sizeof(ingest.Fix{}))+len(r.Soundings)*int(unsafe.Sizeof(ingest.Sounding{})))
	if len(args) < 2 {
		return nil
	}
	return create(args[1], func(w *bufio.Writer) error {
		next := 0 // sounding; each lies at its fix
		for _, t := range r.Tracks {
			for _, f := range t.Fixes {
				depthM := math.NaN()
				if next < len(r.Soundings) && r.Soundings[next].Line == f.Line {
					depthM = r.Soundings[next].DepthM
					next++
				}
				var b [32]byte
				binary.LittleEndian.PutUint64(b[0:], math.Float64bits(f.Pos.Lat()))
				binary.LittleEndian.PutUint64(b[8:], math.Float64bits(f.Pos.Lon()))
				binary.LittleEndian.PutUint64(b[16:], uint64(f.Time.UnixNano()))
				binary.LittleEndian.PutUint64(b[24:], math.Float64bits(depthM))
				w.Write(b[:])
			}
		}
		return nil
	})
}

func readCSV(args []string) error {
	r, err := read(args[0], csvfile.Read)
	if err != nil {
		return err
	}
	sum := 0.0
	for _, s := range r.Soundings {
		sum += s.DepthM
	}
	fmt.Printf("%d rows, depths add up to %.1f\n", len(r.Soundings), sum)
	fmt.Printf("kept %d\n", len(r.Soundings)*int(unsafe.Sizeof(ingest.Sounding{})))
	return nil
}

type reader func(r io.Reader, name string, opt ingest.ReadOptions) (ingest.Records, error)

// read reads one file by its reader, as package load would, without the rest of what that does.
func read(name string, by reader) (ingest.Records, error) {
	f, err := os.Open(name)
	if err != nil {
		return ingest.Records{}, err
	}
	defer f.Close()
	start := time.Now()
	r, err := by(f, name, ingest.ReadOptions{})
	inside(start)
	return r, err
}
