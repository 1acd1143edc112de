package main

import (
	"bufio"
	"encoding/binary"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"strconv"
	"strings"
	"time"
)

// A fix is one point of a track; its depth is NaN where the reader doesn't tell it.
type fix struct {
	lat, lon float64
	ns       int64
	depthM   float64
}

// fixes compares two readings of one track, bit for bit.
func fixes(oursName, theirsName string) (string, error) {
	ours, err := open(oursName)
	if err != nil {
		return "", err
	}
	theirs, err := open(theirsName)
	if err != nil {
		return "", err
	}
	n, depths := 0, 0
	for ; ; n++ {
		a, errA := ours()
		b, errB := theirs()
		if errors.Is(errA, io.EOF) && errors.Is(errB, io.EOF) {
			break
		}
		if errors.Is(errA, io.EOF) || errors.Is(errB, io.EOF) {
			return "", fmt.Errorf("%s and %s hold different numbers of points: one ends after %d", oursName, theirsName, n)
		}
		if err := errors.Join(errA, errB); err != nil {
			return "", err
		}
		if a.lat != b.lat || a.lon != b.lon || a.ns != b.ns {
			return "", fmt.Errorf("point %d: %+v in %s, %+v in %s", n, a, oursName, b, theirsName)
		}
		if !math.IsNaN(a.depthM) && !math.IsNaN(b.depthM) {
			if a.depthM != b.depthM {
				return "", fmt.Errorf("point %d: %g m deep in %s, %g m in %s", n, a.depthM, oursName, b.depthM, theirsName)
			}
			depths++
		}
	}
	if n == 0 {
		return "", fmt.Errorf("%s and %s hold no point", oursName, theirsName)
	}
	line := fmt.Sprintf("%d points, the same places and times to the last bit", n)
	if depths > 0 {
		line += fmt.Sprintf(", and %d depths", depths)
	}
	return line, nil
}

// open returns what reads a file point by point: a table when its name ends in .csv.
func open(name string) (func() (fix, error), error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	in := bufio.NewReaderSize(f, 1<<18)
	if strings.HasSuffix(name, ".csv") {
		return table(name, in)
	}
	return func() (fix, error) {
		var b [32]byte
		if _, err := io.ReadFull(in, b[:]); err != nil {
			return fix{}, err
		}
		word := func(i int) uint64 { return binary.LittleEndian.Uint64(b[8*i:]) }
		return fix{math.Float64frombits(word(0)), math.Float64frombits(word(1)), int64(word(2)), math.Float64frombits(word(3))}, nil
	}, nil
}

// table reads what ogr2ogr makes of track_points with GEOMETRY=AS_XY.
func table(name string, in io.Reader) (func() (fix, error), error) {
	rows := csv.NewReader(in)
	rows.ReuseRecord = true
	head, err := rows.Read()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	column := map[string]int{}
	for i, h := range head {
		column[h] = i
	}
	for _, want := range []string{"X", "Y", "time"} {
		if _, ok := column[want]; !ok {
			return nil, fmt.Errorf("%s: no column %s among %q", name, want, head)
		}
	}
	deep, hasDepth := column["echo_depth"]
	return func() (fix, error) {
		row, err := rows.Read()
		if err != nil {
			return fix{}, err
		}
		f := fix{depthM: math.NaN()}
		var errs [4]error
		f.lon, errs[0] = strconv.ParseFloat(row[column["X"]], 64)
		f.lat, errs[1] = strconv.ParseFloat(row[column["Y"]], 64)
		t, err := time.Parse("2006/01/02 15:04:05Z07", row[column["time"]])
		f.ns, errs[2] = t.UnixNano(), err
		if hasDepth {
			f.depthM, errs[3] = strconv.ParseFloat(row[deep], 64)
		}
		return f, errors.Join(errs[:]...)
	}, nil
}
