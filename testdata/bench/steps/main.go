// Command steps does single steps of leadline's pipeline on the benchmark's files, by
// the packages that the program itself is made of.
//
//	steps gpx FILE [POINTS]           read a GPX file; write its fixes to POINTS, see below
//	steps csv FILE                    read a depth log
//	steps cluster FILE LABELS         DBSCAN of points, 15 m and 10 points; labels as int32
//	steps grid FILE DIR               soundings x,y,z -> cells of 5 m -> contours every metre
//	steps day TRACK LOG MARKS DIR     what a script of general tools makes of a day, and no more
//
// A line "inside SECONDS" is the time of the computing alone, for peers that say theirs;
// "kept BYTES" is the size of the records that were asked for.
//
// POINTS holds latitude and longitude in degrees, the time in nanoseconds since 1970 and
// the depth in metres of each fix, eight little-endian bytes each; NaN stands for no depth.
package main

import (
	"bufio"
	"fmt"
	"os"
	"time"
)

var verbs = map[string]struct {
	least, most int // arguments
	do          func(args []string) error
}{
	"gpx":     {1, 2, readGPX},
	"csv":     {1, 1, readCSV},
	"cluster": {2, 2, cluster},
	"grid":    {2, 2, grid},
	"day":     {4, 4, day},
}

func main() {
	if len(os.Args) < 2 {
		usage()
	}
	v, known := verbs[os.Args[1]]
	args := os.Args[2:]
	if !known || len(args) < v.least || len(args) > v.most {
		usage()
	}
	if err := v.do(args); err != nil {
		fmt.Fprintln(os.Stderr, "steps:", err)
		os.Exit(1)
	}
}

func usage() {
	fmt.Fprintln(os.Stderr, "usage: steps gpx|csv|cluster|grid|day FILE...; see the head of main.go")
	os.Exit(2)
}

// inside says how long the computing took.
func inside(since time.Time) { fmt.Printf("inside %.6f\n", time.Since(since).Seconds()) }

// create writes one file.
func create(name string, write func(w *bufio.Writer) error) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	w := bufio.NewWriterSize(f, 1<<18)
	err = write(w)
	if err == nil {
		err = w.Flush()
	}
	if shut := f.Close(); err == nil {
		err = shut
	}
	return err
}
