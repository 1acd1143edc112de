package export

import (
	"fmt"
	"strings"
	"time"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// ZoneName returns the name a person sees. A zone that carries a name of its own
// keeps it behind its id; otherwise the fish's depth and the structure name it:
// "Z1: fish at 18 to 22 ft, hump".
func ZoneName(z spatial.Zone, u si.System) string {
	if z.Name != "" && z.Name != z.ID {
		return joinName(z.ID, z.Name)
	}
	var parts []string
	switch {
	case z.FishTopM.OK && z.FishBottomM.OK:
		parts = append(parts, "fish at "+DepthRange(z.FishTopM.V, z.FishBottomM.V, u))
	case z.BottomM.OK:
		parts = append(parts, "bottom at "+u.Depth(z.BottomM.V))
	}
	if z.Structure != "" {
		parts = append(parts, z.Structure)
	}
	return joinName(z.ID, strings.Join(parts, ", "))
}

// BandName returns "Bottom 18 to 24 ft".
func BandName(b spatial.Band, u si.System) string {
	return "Bottom " + u.DepthRange(b.TopM, b.BottomM)
}

// DriftName returns "D1: 320 yd toward ENE", or the line's own name behind its id.
func DriftName(d spatial.DriftLine, u si.System) string {
	if d.Name != "" && d.Name != d.ID {
		return joinName(d.ID, d.Name)
	}
	return joinName(d.ID, u.Distance(d.LengthM)+" toward "+si.Compass(d.TowardDeg))
}

// ContourName returns "Contour 24 ft".
func ContourName(c spatial.Contour, u si.System) string {
	return "Contour " + u.Depth(c.DepthM)
}

// EventName returns "Catch of 2, largemouth bass, 2024-05-11 06:12", as far as
// each is known, in the zone's clock; nil is UTC.
func EventName(e spatial.EventMark, zone *time.Location) string {
	name := EventWord(e.Kind)
	if e.Count > 1 {
		name += fmt.Sprintf(" of %d", e.Count)
	}
	if e.Species != "" {
		name += ", " + e.Species
	}
	if !e.Time.IsZero() {
		name += ", " + e.Time.In(Clock(zone)).Format("2006-01-02 15:04")
	}
	return name
}

// EventWord returns the kind of event as a heading: "Catch", "Bite", "Fish seen",
// "Bait seen".
func EventWord(k ingest.EventKind) string {
	switch k {
	case ingest.Bite:
		return "Bite"
	case ingest.Mark:
		return "Fish seen"
	case ingest.Bait:
		return "Bait seen"
	}
	return "Catch"
}

// Clock returns the zone, or UTC for nil.
func Clock(zone *time.Location) *time.Location {
	if zone == nil {
		return time.UTC
	}
	return zone
}

func joinName(id, rest string) string {
	switch "" {
	case id:
		return rest
	case rest:
		return id
	}
	return id + ": " + rest
}
