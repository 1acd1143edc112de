package main

import (
	"fmt"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"leadline/ingest"
	"leadline/ingest/si"
)

// quantity is a flag that takes a number with a unit; its value is in SI.
type quantity struct {
	of    *si.Quantity
	value ingest.Maybe
	shown string // as typed, or the default in words
	least float64
}

func newQuantity(of *si.Quantity, least float64) *quantity { return &quantity{of: of, least: least} }

func (q *quantity) String() string { return q.shown }

// Type is the word that stands for the value in the help.
func (q *quantity) Type() string {
	switch q.of {
	case si.Speed:
		return "SPEED"
	case si.Mass:
		return "WEIGHT"
	case si.Duration:
		return "TIME"
	case si.Temperature:
		return "TEMP"
	}
	return "LENGTH"
}

func (q *quantity) Set(s string) error {
	v, err := q.of.Parse(s)
	if err != nil {
		return err
	}
	if v < q.least {
		return fmt.Errorf("%q is too small", s)
	}
	q.value, q.shown = ingest.Known(v), s
	return nil
}

// or returns the value as typed, or the default.
func (q *quantity) or(v float64) float64 {
	if q.value.OK {
		return q.value.V
	}
	return v
}

// zoneFlag is a time zone by its IANA name.
type zoneFlag struct {
	zone *time.Location
	name string
}

func (z *zoneFlag) String() string { return z.name }
func (z *zoneFlag) Type() string   { return "ZONE" }

func (z *zoneFlag) Set(s string) error {
	loc, err := time.LoadLocation(s)
	if err != nil || s == "" || strings.EqualFold(s, "local") {
		return fmt.Errorf("%q is not a time zone, wanted UTC, Etc/GMT+6, or a name of the time zone database, Area/City", s)
	}
	z.zone, z.name = loc, s
	return nil
}

// offsetsFlag is NAME=TIME, once per file.
type offsetsFlag map[string]time.Duration

func (o offsetsFlag) String() string { return "" }
func (o offsetsFlag) Type() string   { return "NAME=TIME" }

func (o offsetsFlag) Set(s string) error {
	i := strings.LastIndex(s, "=")
	if i < 1 {
		return fmt.Errorf("%q is not NAME=TIME, wanted the file's name and the time to add to its clock, such as sonar.csv=37s or sonar.csv=-1h", s)
	}
	seconds, err := si.Duration.Parse(s[i+1:])
	if err != nil {
		return err
	}
	o[s[:i]] = time.Duration(seconds * float64(time.Second))
	return nil
}

// commonFlags are the flags of every verb.
type commonFlags struct {
	boat  string
	json  bool
	quiet bool
}

func (c *commonFlags) add(f *pflag.FlagSet) {
	f.StringVar(&c.boat, "boat", "", "`FILE` that describes boat, box of heads and habits (default boat.toml if present)")
	f.BoolVar(&c.json, "json", false, "print the result as JSON")
	f.BoolVar(&c.quiet, "quiet", false, "print no progress")
}
