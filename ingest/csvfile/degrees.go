package csvfile

import (
	"math"
	"strings"

	"github.com/paulmach/orb"

	"leadline/ingest"
)

// position reads lat and lon of the row at hand. has is false when the row gives
// none; zero tells that it gives 0, 0; a problem, its outcome left open, that it
// gives one that can't be used.
func (t *table) position() (pos orb.Point, has, zero bool, p *ingest.Problem) {
	latText, lonText := t.cell(colLat), t.cell(colLon)
	noLat, noLon := missing(latText), missing(lonText)
	if noLat && noLon {
		return pos, false, false, nil
	}
	bad := func(r role, found, wanted string, kind error) (orb.Point, bool, bool, *ingest.Problem) {
		return orb.Point{}, false, false, &ingest.Problem{Field: t.nameOf(r), Found: found, Wanted: wanted, Kind: kind}
	}
	const latWanted, lonWanted = "degrees from -90 to 90", "degrees from -180 to 180"
	switch {
	case noLat:
		return bad(colLat, "", latWanted, ingest.ErrMissing)
	case noLon:
		return bad(colLon, "", lonWanted, ingest.ErrMissing)
	}
	lat, okLat := t.degrees(latText, t.cell(colLatSide), 'N', 'S')
	lon, okLon := t.degrees(lonText, t.cell(colLonSide), 'E', 'W')
	if okLat && okLon {
		t.positions++
		if math.Abs(lat) > 360 || math.Abs(lon) > 360 {
			if t.far == 0 {
				t.farFirst = evidence{t.line, latText + ", " + lonText}
			}
			t.far++
		}
	}
	switch {
	case !okLat:
		return bad(colLat, latText, latWanted, ingest.ErrNumber)
	case !okLon:
		return bad(colLon, lonText, lonWanted, ingest.ErrNumber)
	case math.Abs(lat) > 90:
		return bad(colLat, latText, latWanted, ingest.ErrRange)
	case math.Abs(lon) > 180:
		return bad(colLon, lonText, lonWanted, ingest.ErrRange)
	case lat == 0 && lon == 0:
		return orb.Point{}, false, true, nil
	}
	return orb.Point{lon, lat}, true, false, nil
}

// degrees reads an angle: decimal degrees, degrees and minutes, or degrees,
// minutes and seconds, with a sign, or with a letter before, behind, or in a cell of its own.
// Between the parts stand their signs, blanks, colons, or before minutes a dash:
// -40.2575, 40°15.45'W, W 40 15 27, 40-15.45W.
func (t *table) degrees(s, side string, plus, minus byte) (float64, bool) {
	if side == "" {
		if v, ok := fastFloat(s); ok {
			return v, true
		}
	}
	sign, letter := 1.0, false
	take := func(c byte) bool {
		switch c &^ 0x20 {
		case minus:
			sign = -1
		case plus:
		default:
			return false
		}
		letter = true
		return true
	}
	switch {
	case len(side) == 1:
		if !take(side[0]) {
			return 0, false
		}
	case side != "":
		return 0, false
	case take(s[0]):
		s = s[1:]
	case take(s[len(s)-1]):
		s = s[:len(s)-1]
	}
	s = strings.TrimSpace(s)
	if s == "" || letter && (s[0] == '-' || s[0] == '+') {
		return 0, false // a sign and a letter contradict or repeat each other
	}
	if s[0] == '-' || s[0] == '+' {
		if s[0] == '-' {
			sign = -1
		}
		s = s[1:]
	}
	if v, ok := t.number(s); ok && s[0] != '-' && s[0] != '+' {
		return sign * v, true
	}
	parts := strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune("°º'’′\"”″:- \u00a0", r) })
	if len(parts) == 0 || len(parts) > 3 {
		return 0, false
	}
	v := 0.0
	for i, p := range parts {
		x, ok := t.number(p)
		if !ok || strings.Trim(p, "0123456789.,") != "" || i > 0 && x >= 60 || i < len(parts)-1 && x != math.Trunc(x) {
			return 0, false
		}
		v += x / [...]float64{1, 60, 3600}[i]
	}
	return sign * v, true
}
