package export

import (
	"bytes"
	"encoding/json"
	"fmt"
	"time"

	"github.com/paulmach/orb"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// A Property is one named value of a feature. Its value is a string, int, bool,
// float64, ingest.Maybe, or orb.Point (longitude, latitude), or nil when it can't be known.
type Property struct {
	Name  string
	Value any
}

// Properties are a feature's values in the order in which they are written.
type Properties []Property

// MarshalJSON writes an object with the names in their order.
func (ps Properties) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	b.WriteByte('{')
	for i, p := range ps {
		if i > 0 {
			b.WriteByte(',')
		}
		name, err := json.Marshal(p.Name)
		if err != nil {
			return nil, err
		}
		value, err := json.Marshal(p.Value)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", p.Name, err)
		}
		b.Write(name)
		b.WriteByte(':')
		b.Write(value)
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// The kinds of feature, as the property kind spells them.
const (
	KindZone    = "zone"
	KindBand    = "band"
	KindDrift   = "drift"
	KindContour = "contour"
	KindEvent   = "event"
)

// A Feature is one thing on the chart, ready for any format: its shape is rounded
// and its rings are wound as RFC 7946 wants. Geometry is nil when it has no shape.
type Feature struct {
	Kind       string
	ID         string
	Name       string
	Geometry   orb.Geometry
	Properties Properties // starts with kind, id and name
}

// Features lists everything on the chart: zones, bands, drift lines, contours,
// events, each in the chart's order.
func Features(c spatial.Chart, u si.System) []Feature {
	var out []Feature
	for _, z := range c.Zones {
		out = append(out, ZoneFeature(z, u))
	}
	for _, b := range c.Bands {
		out = append(out, BandFeature(b, u))
	}
	for _, d := range c.Drifts {
		out = append(out, DriftFeature(d, u))
	}
	for i, l := range c.Contours {
		out = append(out, ContourFeature(i, l, u))
	}
	for _, e := range c.Events {
		out = append(out, EventFeature(e, c.Zone))
	}
	return out
}

// ZoneFeature returns a zone with its polygon.
func ZoneFeature(z spatial.Zone, u si.System) Feature {
	f := feature(KindZone, z.ID, ZoneName(z, u))
	if p := Polygon(z.Shape); p != nil {
		f.Geometry = p
	}
	head, picked := z.Head.Chosen()
	headOz, headG, sinkS, lineOutM, angleDeg := ingest.Maybe{}, ingest.Maybe{}, ingest.Maybe{}, ingest.Maybe{}, ingest.Maybe{}
	if picked {
		headOz = Round(head.Head.MassKg/si.OunceKg, ouncesDecimals)
		headG = Round(head.Head.MassKg*1000, gramsDecimals)
		sinkS = Round(head.SinkS, secondsDecimals)
		lineOutM = RoundMaybe(head.LineOutM, depthDecimals)
		angleDeg = RoundMaybe(head.AngleDeg, angleDecimals)
	}
	f.add("events", z.Events)
	f.add("catches", z.Catches)
	f.add("days", z.Days)
	f.add("effort_h", RoundMaybe(z.EffortH, hoursDecimals))
	f.addRate(z.Rate)
	f.add("rate_shrunk_per_h", RoundMaybe(z.ShrunkPerH, rateDecimals))
	f.add("p_value", RoundMaybe(z.PValue, chanceDecimals))
	f.add("proven", z.Proven)
	f.add("fish_top_m", RoundMaybe(z.FishTopM, depthDecimals))
	f.add("fish_bottom_m", RoundMaybe(z.FishBottomM, depthDecimals))
	f.add("bottom_m", RoundMaybe(z.BottomM, depthDecimals))
	f.add("temp_c", RoundMaybe(z.TempC, tempDecimals))
	f.add("structure", word(z.Structure))
	f.add("hour_from", RoundMaybe(z.HourFrom, hoursDecimals))
	f.add("hour_to", RoundMaybe(z.HourTo, hoursDecimals))
	f.add("drift_mps", RoundMaybe(z.DriftMPS, speedDecimals))
	f.add("drift_toward_deg", RoundMaybe(z.DriftTowardDeg, angleDecimals))
	f.add("head_oz", headOz)
	f.add("head_g", headG)
	f.add("sink_s", sinkS)
	f.add("line_out_m", lineOutM)
	f.add("line_angle_deg", angleDeg)
	f.add("head_why", HeadWhy(z.Head, u))
	f.add("bottom_u95_m", RoundMaybe(z.BottomU95M, depthDecimals))
	f.add("fish_u95_m", RoundMaybe(z.FishU95M, depthDecimals))
	f.addBreak(z.Break)
	return f
}

// BandFeature returns a depth band with the bottom that lies in it, or without
// geometry when none was sounded there.
func BandFeature(b spatial.Band, u si.System) Feature {
	f := feature(KindBand, b.ID, BandName(b, u))
	if m := MultiPolygon(b.Shape); m != nil {
		f.Geometry = m
	}
	f.add("top_m", Round(b.TopM, depthDecimals))
	f.add("bottom_m", Round(b.BottomM, depthDecimals))
	f.add("events", b.Events)
	f.add("effort_h", Round(b.EffortH, hoursDecimals))
	f.addRate(b.Rate)
	f.add("selection", RoundMaybe(b.Selection, shareDecimals))
	f.add("selection_low", RoundMaybe(b.SelectionLow, shareDecimals))
	f.add("selection_high", RoundMaybe(b.SelectionHigh, shareDecimals))
	return f
}

// DriftFeature returns a drift line, in the direction of drift.
func DriftFeature(d spatial.DriftLine, u si.System) Feature {
	f := feature(KindDrift, d.ID, DriftName(d, u))
	if l := roundLine(d.Line); l != nil {
		f.Geometry = l
	}
	rate := ingest.Maybe{}
	if d.Rate.OK {
		rate = Round(d.Rate.PerH, rateDecimals)
	}
	f.add("passes", d.Passes)
	f.add("length_m", Round(d.LengthM, distanceDecimals))
	f.add("hours", Round(d.Hours, hoursDecimals))
	f.add("events", d.Events)
	f.add("rate_per_h", rate)
	f.add("speed_mps", Round(d.SpeedMPS, speedDecimals))
	f.add("toward_deg", Round(d.TowardDeg, angleDecimals))
	f.add("productive_from_m", RoundMaybe(d.ProductiveFromM, distanceDecimals))
	f.add("productive_to_m", RoundMaybe(d.ProductiveToM, distanceDecimals))
	perPass, depthM := ingest.Maybe{}, ingest.Maybe{}
	if d.PerPass.OK {
		perPass = Round(d.PerPass.PerH, rateDecimals)
	}
	if d.Stretch != nil {
		depthM = RoundMaybe(d.Stretch.MiddleM, depthDecimals)
	}
	f.add("speed_low_mps", Round(d.SpeedLowMPS, speedDecimals))
	f.add("speed_high_mps", Round(d.SpeedHighMPS, speedDecimals))
	f.add("events_per_pass", perPass)
	f.add("stretch_depth_m", depthM)
	return f
}

// ContourFeature returns a depth contour, a LineString when it is in one piece.
// Its id is C and its place in the chart's list, counted from 1.
func ContourFeature(index int, c spatial.Contour, u si.System) Feature {
	f := feature(KindContour, fmt.Sprintf("C%d", index+1), ContourName(c, u))
	var lines orb.MultiLineString
	for _, l := range c.Lines {
		if r := roundLine(l); r != nil {
			lines = append(lines, r)
		}
	}
	switch len(lines) {
	case 0:
	case 1:
		f.Geometry = lines[0]
	default:
		f.Geometry = lines
	}
	f.add("depth_m", Round(c.DepthM, depthDecimals))
	f.add("depth_ft", Round(c.DepthM/si.FootM, depthDecimals))
	return f
}

// EventFeature returns an event at its place. The zone is the clock its name is
// told by; nil is UTC.
func EventFeature(e spatial.EventMark, zone *time.Location) Feature {
	f := feature(KindEvent, e.ID, EventName(e, zone))
	f.Geometry = RoundPoint(e.At)
	var at any
	if !e.Time.IsZero() {
		at = e.Time.UTC().Format(time.RFC3339)
	}
	f.add("event", e.Kind.String())
	f.add("time", at)
	f.add("bottom_m", RoundMaybe(e.BottomM, depthDecimals))
	f.add("fish_m", RoundMaybe(e.FishM, depthDecimals))
	f.add("species", word(e.Species))
	f.add("zone", word(e.Zone))
	return f
}

func feature(kind, id, name string) Feature {
	return Feature{Kind: kind, ID: id, Name: name, Properties: Properties{
		{"kind", kind}, {"id", id}, {"name", name},
	}}
}

func (f *Feature) add(name string, value any) {
	f.Properties = append(f.Properties, Property{name, value})
}

func (f *Feature) addBreak(b *spatial.Break) {
	distM, toward, top, foot := ingest.Maybe{}, ingest.Maybe{}, ingest.Maybe{}, ingest.Maybe{}
	if b != nil {
		distM, top, foot = Round(b.DistM, distanceDecimals), RoundMaybe(b.TopM, depthDecimals), RoundMaybe(b.BottomM, depthDecimals)
		if b.DistM > 0 {
			toward = Round(b.TowardDeg, angleDecimals)
		}
	}
	f.add("break_m", distM)
	f.add("break_toward_deg", toward)
	f.add("break_top_m", top)
	f.add("break_bottom_m", foot)
}

func (f *Feature) addRate(r spatial.Rate) {
	perH, low, high := ingest.Maybe{}, ingest.Maybe{}, ingest.Maybe{}
	if r.OK {
		perH, low, high = Round(r.PerH, rateDecimals), Round(r.LowPerH, rateDecimals), Round(r.HighPerH, rateDecimals)
	}
	f.add("rate_per_h", perH)
	f.add("rate_low_per_h", low)
	f.add("rate_high_per_h", high)
}

// word returns the text, or nil for the empty one, which stands for unknown.
func word(s string) any {
	if s == "" {
		return nil
	}
	return s
}
