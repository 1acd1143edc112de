package points

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"leadline/ingest"
)

// mostFeature is how large a single feature may be: a json.Decoder holds it whole.
const mostFeature = 16 << 20

var errFeatureSize = fmt.Errorf("one feature is longer than %d MiB", mostFeature>>20)

// types are those of RFC 7946 section 1.4, with what the last is not.
var types = []string{"FeatureCollection", "Feature", "Point", "MultiPoint", "LineString", "MultiLineString", "Polygon", "MultiPolygon", "GeometryCollection"}

// recogniseJSON reports whether head begins a JSON object that has one of the
// types of GeoJSON, or features, whichever comes first.
func recogniseJSON(head []byte) bool {
	d := json.NewDecoder(bytes.NewReader(bytes.TrimPrefix(head, []byte("\ufeff"))))
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return false
	}
	for {
		key, err := d.Token()
		if err != nil {
			return false
		}
		if key == "features" {
			t, err := d.Token()
			return err == nil && t == json.Delim('[')
		}
		var v json.RawMessage
		if d.Decode(&v) != nil {
			return false
		}
		if key == "type" {
			var s string
			return json.Unmarshal(v, &s) == nil && slices.Contains(types, s)
		}
	}
}

// places tells at which line a byte of the input stands, and ends reading when a
// single value grows too long. Lines are asked for in order; what is behind is
// forgotten.
type places struct {
	in    io.Reader
	read  int64
	ends  []int64 // offsets of line feeds not yet passed
	line  int     // of the last place asked for
	limit int64   // reading ends here
}

func (p *places) Read(b []byte) (int, error) {
	if p.read >= p.limit {
		return 0, errFeatureSize
	}
	n, err := p.in.Read(b[:min(int64(len(b)), p.limit-p.read)])
	for i, c := range b[:n] {
		if c == '\n' {
			p.ends = append(p.ends, p.read+int64(i))
		}
	}
	p.read += int64(n)
	return n, err
}

func (p *places) at(offset int64) int {
	i := 0
	for i < len(p.ends) && p.ends[i] < offset {
		i++
	}
	p.line += i
	p.ends = p.ends[:copy(p.ends, p.ends[i:])]
	return p.line
}

// mark lets the value that begins at offset be as long as one may be.
func (p *places) mark(offset int64) { p.limit = offset + mostFeature }

// geometry is one of RFC 7946 section 3.1, as far as points go.
type geometry struct {
	Type        string          `json:"type"`
	Coordinates json.RawMessage `json:"coordinates"`
}

// feature is one of RFC 7946 section 3.2.
type feature struct {
	Type       string          `json:"type"`
	Geometry   *geometry       `json:"geometry"`
	Properties json.RawMessage `json:"properties"`
}

// readJSON reads a GeoJSON object, a collection's features one by one.
func (l *list) readJSON(r io.Reader) error {
	p := &places{in: source{r}, line: 1}
	p.mark(0)
	if b, ok := r.(interface{ Peek(int) ([]byte, error) }); ok {
		if bom, _ := b.Peek(3); string(bom) == "\ufeff" {
			_, _ = io.CopyN(io.Discard, p, 3)
		}
	}
	base := p.read
	d := json.NewDecoder(p)
	l.takenFor = "GeoJSON points"
	own := map[string]json.RawMessage{} // the object's own members but for features
	isBroken := func(err error) error {
		// Where the broken value begins, the end of a line before it counted. The offset
		// in a json.SyntaxError is no help: seen by running Go 1.26, it leaves out what
		// was read as tokens.
		at := base + d.InputOffset() + 2
		if errors.Is(err, io.EOF) || errors.Is(err, io.ErrUnexpectedEOF) {
			at, err = p.read, errors.New("unexpected end")
		}
		return l.broke(p.at(at), err)
	}
	if _, err := d.Token(); err != nil { // {, see isJSON
		return isBroken(err)
	}
	hasFeatures := false
	for d.More() {
		key, err := d.Token()
		if err != nil {
			return isBroken(err)
		}
		p.mark(base + d.InputOffset())
		if key != "features" {
			var v json.RawMessage
			if err := d.Decode(&v); err != nil {
				return isBroken(err)
			}
			own[key.(string)] = v
			continue
		}
		hasFeatures = true
		if t, err := d.Token(); err != nil {
			return isBroken(err)
		} else if t != json.Delim('[') {
			return fmt.Errorf("%s: features: %v is not a list, wanted [ … ]", l.name, t)
		}
		for d.More() {
			p.mark(base + d.InputOffset())
			var v json.RawMessage
			if err := d.Decode(&v); err != nil {
				return isBroken(err)
			}
			l.feature(v, p.at(base+d.InputOffset()-int64(len(v))))
		}
		if _, err := d.Token(); err != nil { // ]
			return isBroken(err)
		}
	}
	if _, err := d.Token(); err != nil { // }
		return isBroken(err)
	}
	return l.object(own, hasFeatures)
}

// object reads what an object says of itself, and the object when it is no
// collection.
func (l *list) object(own map[string]json.RawMessage, hasFeatures bool) error {
	if crs, ok := own["crs"]; ok && string(crs) != "null" && !isWGS84(crs) {
		return fmt.Errorf("%s: crs: %q is another frame of coordinates, wanted longitude and latitude on WGS 84", l.name, clip(string(crs)))
	}
	var typ string
	_ = json.Unmarshal(own["type"], &typ) // what is no text is no type
	if hasFeatures {
		return nil
	}
	whole, err := json.Marshal(own)
	if err != nil {
		return fmt.Errorf("%s: %w", l.name, err)
	}
	switch {
	case typ == "Feature":
		l.feature(whole, 1)
	case slices.Contains(types, typ) && typ != "FeatureCollection":
		l.feature(fmt.Appendf(nil, `{"type":"Feature","geometry":%s}`, whole), 1)
	case typ == "FeatureCollection":
		return fmt.Errorf("%s: a FeatureCollection without features", l.name)
	default:
		return fmt.Errorf("%s: type: %q is none of GeoJSON's, wanted %s", l.name, clip(string(own["type"])), strings.Join(types, ", "))
	}
	return nil
}

// isWGS84 reports whether the crs member of the older GeoJSON names the frame that
// the newer one takes for granted.
func isWGS84(crs []byte) bool {
	return bytes.Contains(crs, []byte("CRS84")) || bytes.Contains(crs, []byte(`EPSG::4326"`)) || bytes.Contains(crs, []byte(`EPSG:4326"`))
}

// feature reads one element of a collection.
func (l *list) feature(raw []byte, line int) {
	p := &point{line: line, text: clip(string(raw))}
	var f feature
	if err := json.Unmarshal(raw, &f); err != nil {
		p.note(line, "", clip(string(raw)), "a Feature with a geometry and properties", ingest.SetAside, ingest.ErrShape)
		l.add(ingest.Event{}, p.problems, p.text)
		return
	}
	switch g := f.Geometry; {
	case f.Type != "" && f.Type != "Feature":
		p.note(line, "type", f.Type, "Feature", ingest.SetAside, ingest.ErrWord)
	case g == nil:
	case g.Type != "Point":
		p.note(line, "geometry", g.Type, "Point", ingest.SetAside, ingest.ErrWord)
	default:
		var at []*float64
		err := json.Unmarshal(g.Coordinates, &at)
		if err != nil || len(at) < 2 || at[0] == nil || at[1] == nil {
			p.note(line, "coordinates", clip(string(g.Coordinates)), "longitude and latitude in degrees", ingest.SetAside, ingest.ErrPosition)
			break
		}
		p.place(line, *at[0], *at[1])
	}
	if len(p.problems) > 0 && p.problems[0].Outcome == ingest.SetAside {
		l.add(ingest.Event{}, p.problems, p.text)
		return
	}
	var err error
	if p.about, err = properties(f.Properties, line); err != nil {
		p.note(line, "properties", clip(string(f.Properties)), "an object", ingest.Repaired, ingest.ErrShape)
	}
	l.point(p)
}

// properties lists the members of a JSON object in its order. Members that are no
// text, number or truth are listed empty.
func properties(raw json.RawMessage, line int) (list []property, err error) {
	if len(raw) == 0 || string(raw) == "null" {
		return nil, nil
	}
	d := json.NewDecoder(bytes.NewReader(raw))
	d.UseNumber()
	if t, err := d.Token(); err != nil || t != json.Delim('{') {
		return nil, errors.New("no object")
	}
	for d.More() {
		key, err := d.Token()
		if err != nil {
			return list, err
		}
		var v any
		if err := d.Decode(&v); err != nil {
			return list, err
		}
		a := property{name: key.(string), line: line}
		switch v := v.(type) {
		case string:
			a.text = v
		case json.Number:
			a.text = v.String()
		}
		list = append(list, a)
	}
	return list, nil
}
