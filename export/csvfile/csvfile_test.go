package csvfile

import (
	"bytes"
	"encoding/csv"
	"errors"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/encoding/wkt"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

func written(t *testing.T, in export.Findings, opt export.Options) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := Write(&b, in, opt); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestGolden(t *testing.T) {
	exporttest.Golden(t, "season.csv", written(t, exporttest.Season(), export.Options{}))
	exporttest.Golden(t, "metric.csv", written(t, exporttest.Season(), export.Options{Units: si.Metric}))
	exporttest.Golden(t, "empty.csv", written(t, exporttest.Empty(), export.Options{}))
}

// table reads a file by column name, with the reader of Go's own library.
func table(t *testing.T, b []byte) (header []string, rows []map[string]string) {
	t.Helper()
	r := csv.NewReader(bytes.NewReader(b)) // refuses rows of another length than the first
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for _, cells := range all[1:] {
		row := map[string]string{}
		for i, name := range all[0] {
			row[name] = cells[i]
		}
		rows = append(rows, row)
	}
	return all[0], rows
}

// The names as the table of outputs promises them.
const promised = "kind id name events catches days effort_h rate_per_h rate_low_per_h rate_high_per_h rate_shrunk_per_h p_value proven " +
	"fish_top_m fish_bottom_m bottom_m temp_c structure hour_from hour_to drift_mps drift_toward_deg " +
	"head_oz head_g sink_s line_out_m line_angle_deg head_why " +
	"bottom_u95_m fish_u95_m break_m break_toward_deg break_top_m break_bottom_m " +
	"centre_lat centre_lon outline_wkt"

func TestHeader(t *testing.T) {
	for name, in := range map[string]export.Findings{"season": exporttest.Season(), "empty": exporttest.Empty()} {
		header, rows := table(t, written(t, in, export.Options{}))
		if got := strings.Join(header, " "); got != promised {
			t.Errorf("%s: columns\n%s\nwant\n%s", name, got, promised)
		}
		if len(rows) != len(in.Chart.Zones) {
			t.Errorf("%s: %d rows, want %d", name, len(rows), len(in.Chart.Zones))
		}
	}
}

// TestRoundTrip: what is read back is what was written, each value and each corner; the
// outline by orb v0.14.0's reader of well-known text.
func TestRoundTrip(t *testing.T) {
	in := exporttest.Season()
	hole := slices.Clone(in.Chart.Zones[0].Shape[0])
	for i, p := range hole {
		c := in.Chart.Zones[0].Centre
		hole[i] = orb.Point{(p[0] + c[0]) / 2, (p[1] + c[1]) / 2}
	}
	in.Chart.Zones[0].Shape = append(in.Chart.Zones[0].Shape, hole)
	in.Chart.Zones[1].Shape = nil
	in.Chart.Zones[1].Name = "Two \"quoted\" words, a comma\nand a second line; =1+1"
	in.Chart.Zones[2].Structure = "-shelf"
	in.Chart.Zones[2].Centre = orb.Point{-0.00001, 0.0000004} // 1e-05 to some printers
	_, rows := table(t, written(t, in, export.Options{}))
	for i, z := range in.Chart.Zones {
		f := export.ZoneFeature(z, si.US)
		for _, p := range f.Properties {
			got := rows[i][p.Name]
			var want string
			switch v := p.Value.(type) {
			case nil:
			case string:
				want = strings.ReplaceAll(v, "\n", " ")
				if v == "-shelf" {
					want = "'-shelf"
				}
			case int:
				want = strconv.Itoa(v)
			case bool:
				want = map[bool]string{true: "true", false: "false"}[v]
			case ingest.Maybe:
				n, err := strconv.ParseFloat(got, 64)
				if (err == nil) != v.OK || err == nil && n != v.V || !v.OK && got != "" {
					t.Errorf("%s %s is %q, want %v", z.ID, p.Name, got, v)
				}
				continue
			default:
				t.Fatalf("%s is a %T", p.Name, v)
			}
			if got != want {
				t.Errorf("%s %s is %q, want %q", z.ID, p.Name, got, want)
			}
		}
		at := export.RoundPoint(z.Centre)
		if lat, lon := rows[i]["centre_lat"], rows[i]["centre_lon"]; lat != strconv.FormatFloat(at[1], 'f', -1, 64) || lon != strconv.FormatFloat(at[0], 'f', -1, 64) {
			t.Errorf("%s is at %s, %s, want %v", z.ID, lat, lon, at)
		}
		text := rows[i]["outline_wkt"]
		if f.Geometry == nil {
			if text != "" {
				t.Errorf("%s has the outline %q", z.ID, text)
			}
			continue
		}
		shape, err := wkt.UnmarshalPolygon(text)
		if err != nil {
			t.Fatal(err)
		}
		if !shape.Equal(f.Geometry.(orb.Polygon)) {
			t.Errorf("%s: outline %v, want %v", z.ID, shape, f.Geometry)
		}
	}
}

// TestRFC4180: section 2 ends lines with CRLF (1), has as many fields in each (4) and
// quotes those with a line break, quote or comma (6), quotes doubled (7).
func TestRFC4180(t *testing.T) {
	in := exporttest.Season()
	in.Chart.Zones = in.Chart.Zones[:1]
	in.Chart.Zones[0].Name = "a \"b\", c"
	got := string(written(t, in, export.Options{}))
	if !strings.Contains(got, ",\"Z1: a \"\"b\"\", c\",") {
		t.Errorf("%s", got)
	}
	if !strings.HasSuffix(got, "\r\n") || strings.Count(got, "\n") != strings.Count(got, "\r\n") || strings.Count(got, "\n") != 2 {
		t.Errorf("%d line breaks, %d of them CRLF", strings.Count(got, "\n"), strings.Count(got, "\r\n"))
	}
}

func TestFormulas(t *testing.T) {
	for s, want := range map[string]string{
		"":          "",
		"hump":      "hump",
		"=1+1":      "'=1+1",
		"+1":        "'+1",
		"-1":        "'-1",
		"@A1":       "'@A1",
		"\t=1":      "'\t=1",
		"\r\n =1":   "'  =1",
		"a\nb\rc":   "a b c",
		" a - b":    " a - b",
		"a=1":       "a=1",
		"'=1":       "'=1",
		"Z1: =1+1 ": "Z1: =1+1 ",
	} {
		if got, err := cell(s); got != want || err != nil {
			t.Errorf("%q is written as %q (%v), want %q", s, got, err, want)
		}
	}
	// A zone without an id has its own name alone.
	in := export.Findings{Chart: spatial.Chart{Zones: []spatial.Zone{{Name: "=HYPERLINK(\"x\")", Centre: orb.Point{-40, -36.5}}}}}
	_, rows := table(t, written(t, in, export.Options{}))
	if got := rows[0]["name"]; got != "'=HYPERLINK(\"x\")" {
		t.Errorf("name is %q", got)
	}
	if got := rows[0]["centre_lat"]; got != "-36.5" {
		t.Errorf("a negative number is %q", got)
	}
}

func TestNoCell(t *testing.T) {
	if _, err := cell(orb.Point{}); err == nil {
		t.Error("a point was written into a cell")
	}
}

type broken struct{}

var errFull = errors.New("no space left")

func (broken) Write([]byte) (int, error) { return 0, errFull }

func TestWriterError(t *testing.T) {
	for name, in := range map[string]export.Findings{"season": exporttest.Season(), "empty": exporttest.Empty()} {
		if err := Write(broken{}, in, export.Options{}); !errors.Is(err, errFull) {
			t.Errorf("%s: %v", name, err)
		}
	}
}
