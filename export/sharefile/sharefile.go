// Package sharefile writes chosen zones as an overlay to hand to someone else: in one
// file, with what is private left out.
//
// What stays is what a partner needs to fish a place: its outline, the depth of the fish
// and of the bottom, the structure and the nearest break, the hours, the drift, the head.
// With a coarse radius the outline becomes a disc that holds the zone somewhere, and what
// would give the place away within it goes too: see disc.go. Zones lose their ids and
// names and become A, B, C… in the chart's order. Nothing else of a chart is written, and
// no feature takes a value from anything but the lists of names below.
package sharefile

import (
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"github.com/paulmach/orb"

	"leadline/export"
	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// A Format is a kind of file, by the extension of its name.
type Format string

// The formats: GeoJSON (RFC 7946), OGC KML 2.2, the same zipped, GPX 1.1.
const (
	GeoJSON Format = ".geojson"
	KML     Format = ".kml"
	KMZ     Format = ".kmz"
	GPX     Format = ".gpx"
)

// Formats lists the formats.
func Formats() []Format { return []Format{GeoJSON, KML, KMZ, GPX} }

// FormatOf returns the format that a file's extension stands for, in capitals or not; ok
// is false for any other extension and for none.
func FormatOf(name string) (f Format, ok bool) {
	f = Format(strings.ToLower(filepath.Ext(name)))
	return f, slices.Contains(Formats(), f)
}

// Options is what a person may choose about a share.
type Options struct {
	Units   si.System    // of everything a person reads
	Zones   []string     // ids; empty: all proven ones
	CoarseM ingest.Maybe // radius of the discs in metres, more than 0 and at most MostCoarseM; unknown: outlines as they are
}

// ErrNoneProven is returned when no zone was named and none is proven.
var ErrNoneProven = errors.New("no zone is proven, and none was named")

// A NoSuchZone is an id that the chart doesn't have.
type NoSuchZone struct {
	ID    string
	There []string
}

func (e NoSuchZone) Error() string {
	if len(e.There) == 0 {
		return fmt.Sprintf("no such zone as %q: there is none", e.ID)
	}
	return fmt.Sprintf("no such zone as %q: there are %s", e.ID, strings.Join(e.There, ", "))
}

// A TooSmall is a radius that can't hide a zone: the chosen one that needs the most.
type TooSmall struct {
	ID      string
	CoarseM float64
	LeastM  float64
	Units   si.System
}

func (e TooSmall) Error() string {
	return fmt.Sprintf("a disc of %s can't hide zone %s: it takes %s at least", e.length(e.CoarseM, false), e.ID, e.length(e.LeastM, true))
}

// length prints a length as a person types it; up rounds to the next whole unit, so that
// what is offered is enough.
func (e TooSmall) length(m float64, up bool) string {
	unit, perM := "m", 1.0
	if e.Units == si.US {
		unit, perM = "ft", 1/si.FootM
	}
	v := m * perM
	if up {
		v = float64(int(v) + 1)
	}
	return fmt.Sprintf("%.0f%s", v, unit)
}

// Pick returns the chart's zones with the ids, or the proven ones when there are no ids;
// in the chart's order, each once. The zones share their shapes with the chart.
//
// Errors are a NoSuchZone, and ErrNoneProven.
func Pick(c spatial.Chart, ids []string) ([]spatial.Zone, error) {
	var there []string
	for _, z := range c.Zones {
		there = append(there, z.ID)
	}
	for _, id := range ids {
		if !slices.Contains(there, id) {
			return nil, NoSuchZone{id, there}
		}
	}
	var out []spatial.Zone
	for _, z := range c.Zones {
		if slices.Contains(ids, z.ID) || len(ids) == 0 && z.Proven {
			out = append(out, z)
		}
	}
	if len(out) == 0 {
		return nil, ErrNoneProven
	}
	return out, nil
}

// Letters returns A for 0, B for 1, … Z, AA, AB, ….
func Letters(i int) string {
	s := ""
	for i++; i > 0; i = (i - 1) / 26 {
		s = string(rune('A'+(i-1)%26)) + s
	}
	return s
}

// The kind of feature that stands for a zone which is somewhere in it.
const kindDisc = "disc"

// The properties that are written, all others are not. A property added to the zones of
// the person's own outputs stays out of a share until it is named here.
var (
	keptOfZone = []string{
		"fish_top_m", "fish_bottom_m", "bottom_m", "structure", "break_m", "break_toward_deg", "break_top_m", "break_bottom_m",
		"hour_from", "hour_to", "drift_mps", "drift_toward_deg", "head_oz", "head_g",
	}
	keptOfDisc = []string{"fish_top_m", "fish_bottom_m", "hour_from", "hour_to", "head_oz", "head_g"}
)

// An item is one zone as it is shared.
type item struct {
	export.Feature
	facts []export.Fact // without those that aren't known
	at    orb.Point     // middle of its shape, rounded; of a disc its centre
}

// Features returns the shared zones in the chart's order: polygons with kind zone, or,
// with a coarse radius, with kind disc and radius_m. Properties are SI, null when not
// known. The chart is kept as it is.
//
// Errors are those of Pick, a TooSmall, and a chosen zone without an outline.
// The same chart and options give the same features; how far a changed chart changes the
// discs is told in disc.go.
func Features(c spatial.Chart, opt Options) ([]export.Feature, error) {
	items, err := share(c, opt)
	var out []export.Feature
	for _, i := range items {
		out = append(out, i.Feature)
	}
	return out, err
}

func share(c spatial.Chart, opt Options) ([]item, error) {
	zones, err := Pick(c, opt.Zones)
	if err != nil {
		return nil, err
	}
	circles := make([]circle, len(zones))
	worst := TooSmall{CoarseM: opt.CoarseM.V, Units: opt.Units}
	for i, z := range zones {
		if export.Polygon(z.Shape) == nil {
			return nil, fmt.Errorf("zone %s has no outline", z.ID)
		}
		circles[i] = around(z.Shape)
		if least := circles[i].leastM(); opt.CoarseM.OK && opt.CoarseM.V < least && least > worst.LeastM {
			worst.ID, worst.LeastM = z.ID, least
		}
	}
	if worst.ID != "" {
		return nil, worst
	}
	var key []byte
	if opt.CoarseM.OK {
		if key, err = chartKey(c); err != nil {
			return nil, err
		}
	}
	var out []item
	for i, z := range zones {
		id := Letters(i)
		if !opt.CoarseM.OK {
			out = append(out, outline(id, z, circles[i].centre, opt.Units))
			continue
		}
		out = append(out, disc(id, z, circles[i].shifted(key, opt.CoarseM.V), opt.CoarseM.V, opt.Units))
	}
	return out, nil
}

// outline is a zone where it is.
func outline(id string, z spatial.Zone, middle orb.Point, u si.System) item {
	z.ID, z.Name = id, ""
	out := item{
		Feature: bare("zone", id, export.ZoneName(z, u), export.Polygon(z.Shape)),
		at:      export.RoundPoint(middle),
		facts:   facts(z, u, true),
	}
	out.keep(z, keptOfZone, u)
	return out
}

// disc is a zone somewhere about centre.
func disc(id string, z spatial.Zone, centre orb.Point, radiusM float64, u si.System) item {
	z.ID, z.Name, z.Structure, z.BottomM = id, "", "", ingest.Maybe{} // the name is made from them
	out := item{
		Feature: bare(kindDisc, id, export.ZoneName(z, u), export.Polygon(polygon(centre, radiusM))),
		at:      export.RoundPoint(centre),
		facts:   append([]export.Fact{{Label: "Where", Value: "somewhere within " + u.Distance(radiusM) + " of the middle, not in the middle"}}, facts(z, u, false)...),
	}
	out.Properties = append(out.Properties, export.Property{Name: "radius_m", Value: export.Round(radiusM, 1)})
	out.keep(z, keptOfDisc, u)
	return out
}

func bare(kind, id, name string, g orb.Geometry) export.Feature {
	return export.Feature{Kind: kind, ID: id, Name: name, Geometry: g, Properties: export.Properties{
		{Name: "kind", Value: kind}, {Name: "id", Value: id}, {Name: "name", Value: name},
	}}
}

// keep adds the named properties of a zone, rounded as everywhere.
func (i *item) keep(z spatial.Zone, names []string, u si.System) {
	all := export.ZoneFeature(z, u).Properties
	for _, name := range names {
		at := slices.IndexFunc(all, func(p export.Property) bool { return p.Name == name })
		i.Properties = append(i.Properties, all[at])
	}
}

// facts are what a person reads of a zone, as far as it is known; here says whether its
// place is told.
func facts(z spatial.Zone, u si.System, here bool) []export.Fact {
	var out []export.Fact
	add := func(label, value string) {
		if value != "" {
			out = append(out, export.Fact{Label: label, Value: value})
		}
	}
	if z.FishTopM.OK && z.FishBottomM.OK {
		add("Fish", export.DepthRange(z.FishTopM.V, z.FishBottomM.V, u))
	}
	if here {
		if z.BottomM.OK {
			add("Bottom", u.Depth(z.BottomM.V))
		}
		add("Structure", z.Structure)
		if z.Break != nil {
			add("Break", export.BreakWords(z.Break, u))
		}
	}
	add("Hours", export.HourWords(z.HourFrom, z.HourTo))
	if here {
		add("Drift", export.DriftWords(z.DriftMPS, z.DriftTowardDeg, u))
	}
	if t, ok := z.Head.Chosen(); ok {
		add("Head", u.Mass(t.Head.MassKg))
	}
	return out
}

// heading is the name of the file's contents. It is no title of the person's.
const heading = "Shared zones"

// about is the description of the file's contents: what the shapes are, and the cautions.
func about(opt Options) []string {
	what := "Places where fish held, drawn from one boat's records."
	if opt.CoarseM.OK {
		what = "Each disc holds, somewhere, a place where fish held, from one boat's records; the place is not in its middle."
	}
	return append([]string{what}, export.Cautions(opt.Units)...)
}

// Write writes the shared zones in the format. The chart is kept as it is; the same chart
// and options give the same bytes. No time, title or setting is written.
//
// Errors are those of Features, before anything is written, those of w, and a format that
// isn't one of Formats. It is linear in the number of points.
func Write(w io.Writer, f Format, c spatial.Chart, opt Options) error {
	if !slices.Contains(Formats(), f) {
		return fmt.Errorf("%q is not one of %s", string(f), FormatList())
	}
	items, err := share(c, opt)
	if err != nil {
		return err
	}
	switch f {
	case GeoJSON:
		return writeGeoJSON(w, items, opt)
	case KML:
		return writeKML(w, items, opt)
	case KMZ:
		return writeKMZ(w, items, opt)
	}
	return writeGPX(w, items, opt)
}

// FormatList names the formats for a person: ".geojson, .kml, .kmz, .gpx".
func FormatList() string {
	var names []string
	for _, f := range Formats() {
		names = append(names, string(f))
	}
	return strings.Join(names, ", ")
}
