package main

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
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

// weightsFlag is KIND=NUMBER, several with commas between them.
type weightsFlag struct {
	of    map[ingest.EventKind]float64
	shown string
}

func (w *weightsFlag) String() string { return w.shown }
func (w *weightsFlag) Type() string   { return "KIND=NUMBER" }

func (w *weightsFlag) Set(s string) error {
	of := map[ingest.EventKind]float64{}
	for _, part := range strings.Split(s, ",") {
		name, number, found := strings.Cut(part, "=")
		kind := slices.IndexFunc(eventKinds, func(k ingest.EventKind) bool { return k.String() == strings.TrimSpace(name) })
		v, err := strconv.ParseFloat(strings.TrimSpace(number), 64)
		if !found || kind < 0 || err != nil || !(v >= 0 && v <= 100) {
			return fmt.Errorf("%q is not KIND=NUMBER, wanted catch, bite, mark or bait and a number from 0 (not counted) to 100, such as mark=0.5,bait=0", part)
		}
		of[eventKinds[kind]] = v
	}
	w.of, w.shown = of, s
	return nil
}

var eventKinds = []ingest.EventKind{ingest.Catch, ingest.Bite, ingest.Mark, ingest.Bait}

// or returns the weights as typed, for what wasn't typed the default.
func (w *weightsFlag) or(d spatial.Weights) spatial.Weights {
	for kind, at := range map[ingest.EventKind]*float64{ingest.Catch: &d.Catch, ingest.Bite: &d.Bite, ingest.Mark: &d.Mark, ingest.Bait: &d.Bait} {
		if v, typed := w.of[kind]; typed {
			*at = v
		}
	}
	return d
}

// crawlFlag is a spatial.CrawlRule by its word.
type crawlFlag spatial.CrawlRule

func (c *crawlFlag) String() string { return "" }
func (c *crawlFlag) Type() string   { return "WORD" }

func (c *crawlFlag) Set(s string) error {
	words := spatial.CrawlRules()
	i := slices.Index(words, s)
	if i < 0 {
		return fmt.Errorf("%q is not one of %s", s, strings.Join(words, ", "))
	}
	*c = crawlFlag(i)
	return nil
}

// windFlag is SPEED@FROM: 10mph@NW or 4m/s@315.
type windFlag struct {
	wind  *spatial.Wind
	shown string
}

func (w *windFlag) String() string { return w.shown }
func (w *windFlag) Type() string   { return "SPEED@FROM" }

func (w *windFlag) Set(s string) error {
	speed, from, found := strings.Cut(s, "@")
	if !found {
		return fmt.Errorf("%q is not SPEED@FROM, wanted the wind's speed and where it blows from, such as 10mph@NW or 4m/s@315", s)
	}
	mps, err := si.Speed.Parse(strings.TrimSpace(speed))
	if err != nil {
		return err
	}
	deg, err := si.ParseCompass(from)
	if err != nil {
		return err
	}
	if mps < 0 || mps > mostWindMPS {
		return fmt.Errorf("%q is no wind to fish in, wanted 0 to %.0f m/s", speed, mostWindMPS)
	}
	w.wind, w.shown = &spatial.Wind{SpeedMPS: mps, FromDeg: deg}, s
	return nil
}

// mostWindMPS is a gale, force 8 and more on the Beaufort scale: 17.2 m/s.
const mostWindMPS = 17.2

// commonFlags are the flags of every verb.
type commonFlags struct {
	boat  string
	book  string
	json  bool
	quiet bool
}

func (c *commonFlags) add(f *pflag.FlagSet) {
	f.StringVar(&c.boat, "boat", "", "`FILE` that describes boat, box of heads and habits (default boat.toml if present)")
	f.StringVar(&c.book, "logbook", defaultBook, "`FILE` that the season is kept in")
	f.BoolVar(&c.json, "json", false, "print the result as JSON")
	f.BoolVar(&c.quiet, "quiet", false, "print no progress")
}
