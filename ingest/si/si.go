// Package si is the only place that knows units other than SI. It parses what a
// person types ("3/8oz", "12ft", "0.8mph") and prints what a person reads.
package si

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Conversion factors, exact by definition: foot, inch, pound and ounce by the
// international yard and pound agreement of 1959, the knot by the international
// nautical mile of 1852 m, the fathom as six feet.
const (
	FootM   = 0.3048
	InchM   = 0.0254
	FathomM = 6 * FootM
	MileM   = 1609.344
	OunceKg = 0.028349523125
	PoundKg = 16 * OunceKg
	KnotMPS = 1852.0 / 3600
	MPHMPS  = MileM / 3600
)

// A Quantity is a kind of measure with the units it takes.
type Quantity struct {
	name  string // plural, for messages
	units []unit
}

type unit struct {
	names []string // the first is the one shown in messages
	scale float64
	shift float64 // added to the typed value before scaling
}

// The quantities a person can type. Values come out in the unit named.
var (
	Length = &Quantity{"lengths", []unit{ // metres
		{[]string{"ft", "feet", "foot", "'"}, FootM, 0},
		{[]string{"in", "inch", "inches", `"`}, InchM, 0},
		{[]string{"m", "metre", "metres", "meter", "meters"}, 1, 0},
		{[]string{"cm"}, 0.01, 0},
		{[]string{"mm"}, 0.001, 0},
		{[]string{"km"}, 1000, 0},
		{[]string{"mi", "mile", "miles"}, MileM, 0},
		{[]string{"fathom", "fathoms", "fm", "ftm"}, FathomM, 0},
	}}
	Speed = &Quantity{"speeds", []unit{ // metres per second
		{[]string{"mph", "mi/h"}, MPHMPS, 0},
		{[]string{"kn", "kt", "kts", "knots", "knot"}, KnotMPS, 0},
		{[]string{"m/s", "mps"}, 1, 0},
		{[]string{"km/h", "kmh", "kph"}, 1 / 3.6, 0},
		{[]string{"ft/s", "fps"}, FootM, 0},
	}}
	Mass = &Quantity{"weights", []unit{ // kilograms
		{[]string{"oz", "ounce", "ounces"}, OunceKg, 0},
		{[]string{"g", "gram", "grams"}, 0.001, 0},
		{[]string{"kg"}, 1, 0},
		{[]string{"lb", "lbs", "pound", "pounds"}, PoundKg, 0},
	}}
	Duration = &Quantity{"times", []unit{ // seconds
		{[]string{"s", "sec", "seconds"}, 1, 0},
		{[]string{"min", "minutes"}, 60, 0},
		{[]string{"h", "hours"}, 3600, 0},
	}}
	Temperature = &Quantity{"temperatures", []unit{ // degrees Celsius
		{[]string{"C", "°C", "degC", "celsius"}, 1, 0},
		{[]string{"F", "°F", "degF", "fahrenheit"}, 5.0 / 9, -32},
	}}
)

// Parse reads a number with a unit, such as "24ft", "1/2 oz", "1-1/2oz" or
// "7.5m", and returns it in the quantity's SI unit. A number without a unit, an
// unknown unit, and anything not finite are errors that name the units taken.
func (q *Quantity) Parse(s string) (float64, error) {
	t := strings.TrimSpace(s)
	cut := strings.LastIndexFunc(t, func(r rune) bool { return r >= '0' && r <= '9' || r == '.' })
	number, word := t[:cut+1], strings.TrimSpace(t[cut+1:])
	if number == "" {
		return 0, fmt.Errorf("%q has no number; %s look like %s", s, q.name, q.example())
	}
	v, err := parseNumber(number)
	if err != nil {
		return 0, fmt.Errorf("%q: %w; %s look like %s", s, err, q.name, q.example())
	}
	if word == "" {
		return 0, fmt.Errorf("%q has no unit; %s take %s", s, q.name, q.Units())
	}
	u, ok := q.find(word)
	if !ok {
		return 0, fmt.Errorf("%q: unknown unit %q; %s take %s", s, word, q.name, q.Units())
	}
	if v = (v + u.shift) * u.scale; math.IsInf(v, 0) {
		return 0, fmt.Errorf("%q is too large", s)
	}
	return v, nil
}

// Convert returns v, given in the named unit, in the quantity's SI unit; ok is
// false when the quantity has no such unit. Case is ignored.
func (q *Quantity) Convert(v float64, name string) (si float64, ok bool) {
	u, ok := q.find(name)
	return (v + u.shift) * u.scale, ok
}

// Unit returns the short name of a unit under any of its spellings: Unit("feet") is "ft".
func (q *Quantity) Unit(name string) (short string, ok bool) {
	u, ok := q.find(name)
	if !ok {
		return "", false
	}
	return u.names[0], true
}

// Units lists the short names of the units taken: "ft, in, m, …".
func (q *Quantity) Units() string {
	var names []string
	for _, u := range q.units {
		names = append(names, u.names[0])
	}
	return strings.Join(names, ", ")
}

func (q *Quantity) example() string {
	switch q {
	case Length:
		return "24ft or 7.5m"
	case Speed:
		return "0.8mph or 0.4m/s"
	case Mass:
		return "1/2oz or 14g"
	case Duration:
		return "15s or 2min"
	}
	return "62F or 17C"
}

func (q *Quantity) find(name string) (unit, bool) {
	for _, u := range q.units {
		for _, n := range u.names {
			if strings.EqualFold(n, name) {
				return u, true
			}
		}
	}
	return unit{}, false
}

// parseNumber reads "7.5", "-3", "3/8", "1 1/2" and "1-1/2".
func parseNumber(s string) (float64, error) {
	bad := fmt.Errorf("%q is not a number", s)
	s = strings.TrimSpace(s)
	whole := 0.0
	if i := strings.LastIndexAny(s, " -"); i > 0 && strings.Contains(s[i:], "/") {
		w, err := strconv.ParseUint(strings.TrimSpace(s[:i]), 10, 32)
		if err != nil {
			return 0, bad
		}
		whole, s = float64(w), s[i+1:]
	}
	v := 0.0
	if over, under, isFraction := strings.Cut(s, "/"); isFraction {
		a, errA := strconv.ParseUint(strings.TrimSpace(over), 10, 32)
		b, errB := strconv.ParseUint(strings.TrimSpace(under), 10, 32)
		if errA != nil || errB != nil || b == 0 {
			return 0, bad
		}
		v = float64(a) / float64(b)
	} else {
		f, err := strconv.ParseFloat(s, 64)
		if err != nil || math.IsNaN(f) || math.IsInf(f, 0) {
			return 0, bad
		}
		v = f
	}
	return whole + v, nil
}
