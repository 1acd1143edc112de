//go:build reference

package export_test

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"github.com/paulmach/orb"
	"github.com/paulmach/orb/planar"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/export/geojsonfile"
	"leadline/export/gpxfile"
	"leadline/export/kmlfile"
	"leadline/export/save"
	"leadline/ingest/plane"
)

// These checks read the outputs with programs of other people: GDAL's ogrinfo
// (tried with 3.6.2), and xmllint with the schema of OGC KML 2.2 that comes with
// the module github.com/twpayne/go-kml. They fail when a program is missing.

func outputs(t *testing.T, in export.Findings) string {
	t.Helper()
	dir := t.TempDir()
	write := func(f func(io.Writer, export.Findings, export.Options) error) func(io.Writer) error {
		return func(w io.Writer) error { return f(w, in, export.Options{Sym: "Anchor"}) }
	}
	err := save.Files(context.Background(), dir, []save.Output{
		{Name: "overlay.geojson", Write: write(geojsonfile.Write)},
		{Name: "overlay.kml", Write: write(kmlfile.Write)},
		{Name: "overlay.kmz", Write: write(kmlfile.WriteKMZ)},
		{Name: "waypoints.gpx", Write: write(gpxfile.Write)},
	})
	if err != nil {
		t.Fatal(err)
	}
	return dir
}

func run(t *testing.T, name string, args ...string) string {
	t.Helper()
	var stdout, stderr bytes.Buffer
	c := exec.Command(name, args...)
	c.Stdout, c.Stderr = &stdout, &stderr
	if err := c.Run(); err != nil {
		t.Fatalf("%s: %v\n%s%s", name, err, stdout.String(), stderr.String())
	}
	if text := stderr.String(); strings.Contains(text, "Warning") || strings.Contains(text, "ERROR") {
		t.Errorf("%s %v said: %s", name, args, text)
	}
	return stdout.String()
}

var layer = regexp.MustCompile(`(?m)^Layer name: (.*)\n(?:.*\n)*?Feature Count: (\d+)$`)

func TestGDALCounts(t *testing.T) {
	kml := "Zones 2;Unproven places 1;Drift lines 3;Depth bands 8;Depth contours 6;Catches and marks 47"
	for name, want := range map[string]string{
		"overlay.geojson": "overlay 67",
		"overlay.kml":     kml,
		"overlay.kmz":     kml,
		"waypoints.gpx":   "waypoints 3;routes 3;tracks 0;route_points 6;track_points 0",
	} {
		t.Run(name, func(t *testing.T) {
			text := run(t, "ogrinfo", "-ro", "-so", "-al", filepath.Join(outputs(t, exporttest.Season()), name))
			var got []string
			for _, m := range layer.FindAllStringSubmatch(text, -1) {
				got = append(got, m[1]+" "+m[2])
			}
			if s := strings.Join(got, ";"); s != want {
				t.Errorf("has %s\nwant %s", s, want)
			}
		})
	}
}

// TestGDALAreas: GDAL, with a projection of its own (PROJ's transverse Mercator), finds the zones and bands of both overlays as large
// as their outlines are on our plane, but for the millimetres of rounding, and in KML for thinning.
func TestGDALAreas(t *testing.T) {
	in := exporttest.Season()
	dir := outputs(t, in)
	origin := in.Chart.Zones[0].Centre
	frame := plane.New(origin)
	flat := func(g orb.MultiPolygon) float64 {
		for _, p := range g {
			for _, r := range p {
				for i, q := range r {
					v := frame.Metres(q)
					r[i] = orb.Point{v.X, v.Y}
				}
			}
		}
		return planar.Area(g)
	}
	want := map[string]float64{}
	for _, z := range in.Chart.Zones {
		want[z.ID] = flat(orb.MultiPolygon{z.Shape.Clone()})
	}
	for _, b := range in.Chart.Bands {
		if len(b.Shape) > 0 {
			want[b.ID] = flat(b.Shape.Clone())
		}
	}
	srs := fmt.Sprintf("+proj=tmerc +lat_0=%.8f +lon_0=%.8f +k=1 +ellps=WGS84 +units=m", origin[1], origin[0])
	for _, c := range []struct {
		name, where string
		layers      []string
		share       float64
	}{
		{"overlay.geojson", "kind = 'zone' OR kind = 'band'", []string{"overlay"}, 1e-4},
		{"overlay.kml", "id <> ''", []string{"Zones", "Unproven places", "Depth bands"}, 0.01},
	} {
		found := 0
		for k, layer := range c.layers {
			projected := filepath.Join(dir, fmt.Sprintf("%s.%d.gpkg", c.name, k))
			run(t, "ogr2ogr", "-f", "GPKG", "-t_srs", srs, "-nln", "flat", "-where", c.where, projected, filepath.Join(dir, c.name), layer)
			text := run(t, "ogrinfo", "-ro", "-q", "-sql", "SELECT id AS mark, OGR_GEOM_AREA AS area FROM flat", "-dialect", "OGRSQL", projected)
			for _, m := range regexp.MustCompile(`mark \(String\) = (\S+)\n  area \(Real\) = (\S+)`).FindAllStringSubmatch(text, -1) {
				area, known := want[m[1]]
				if !known {
					continue
				}
				found++
				if got, err := strconv.ParseFloat(m[2], 64); err != nil || math.Abs(got/area-1) > c.share {
					t.Errorf("%s: %s has %s square metres, want %.1f", c.name, m[1], m[2], area)
				}
			}
		}
		if found != len(want) {
			t.Errorf("%s: %d areas of %d", c.name, found, len(want))
		}
	}
}

// TestGDALValues: the numbers of one zone are the same in both overlays, with
// their types, and what is unknown is null in both.
func TestGDALValues(t *testing.T) {
	dir := outputs(t, exporttest.Season())
	for name, where := range map[string]string{
		"overlay.geojson": "kind = 'zone' AND id = 'Z2'",
		"overlay.kml":     "id = 'Z2'",
	} {
		t.Run(name, func(t *testing.T) {
			args := []string{"-ro", "-where", where, filepath.Join(dir, name)}
			if name == "overlay.kml" {
				args = append(args, "Zones")
			} else {
				args = append(args, "overlay")
			}
			text := run(t, "ogrinfo", args...)
			for _, want := range []string{
				`(?m)^  rate_per_h \(Real\) = 2\.52$`, `(?m)^  events \(Integer\) = 12$`, `(?m)^  proven \(Integer(\(Boolean\))?\) = 1$`,
				`(?m)^  structure \(String\) = point$`, `(?m)^Feature Count: 1$`,
			} {
				if !regexp.MustCompile(want).MatchString(text) {
					t.Errorf("nothing like %s", want)
				}
			}
			if m := regexp.MustCompile(`(?m)^  (head_oz|drift_mps|temp_c) .*= [^(].*$`).FindString(text); m != "" {
				t.Errorf("unknown, yet has %s", m)
			}
		})
	}
}

func TestKMLSchema(t *testing.T) {
	module := strings.TrimSpace(run(t, "go", "list", "-m", "-f", "{{.Dir}}", "github.com/twpayne/go-kml/v3"))
	schema, err := os.ReadFile(filepath.Join(module, "xsd", "ogckml22.xsd"))
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	put := func(name string, content []byte) string {
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path, content, 0o666); err != nil {
			t.Fatal(err)
		}
		return path
	}
	// The schema imports two others, one of them from the web. Neither's elements
	// are written here, so that it is enough to declare them.
	const head = `<schema xmlns="http://www.w3.org/2001/XMLSchema" elementFormDefault="qualified" targetNamespace=`
	put("atom-author-link.xsd", []byte(head+`"http://www.w3.org/2005/Atom"><element name="author"/><element name="link"/></schema>`))
	put("address.xsd", []byte(head+`"urn:oasis:names:tc:ciq:xsdschema:xAL:2.0"><element name="AddressDetails"/></schema>`))
	web := []byte("http://docs.oasis-open.org/election/external/xAL.xsd")
	if !bytes.Contains(schema, web) {
		t.Fatal("the schema's second import is not where it was")
	}
	path := put("ogckml22.xsd", bytes.Replace(schema, web, []byte("address.xsd"), 1))

	check := func(file string) (said string, err error) {
		out, err := exec.Command("xmllint", "--nonet", "--noout", "--schema", path, file).CombinedOutput()
		return string(out), err
	}
	for name, in := range map[string]export.Findings{"season": exporttest.Season(), "empty": exporttest.Empty()} {
		if said, err := check(filepath.Join(outputs(t, in), "overlay.kml")); err != nil {
			t.Errorf("%s: %v\n%s", name, err, said)
		}
	}
	// The check itself must be able to fail.
	good, err := os.ReadFile(filepath.Join(outputs(t, exporttest.Season()), "overlay.kml"))
	if err != nil {
		t.Fatal(err)
	}
	for name, edit := range map[string][2]string{
		"misspelt element":      {"tessellate", "tesselate"},
		"elements out of order": {"<open>1</open>", "<visibility>1</visibility><name>again</name>"},
		"bad colour":            {"ff005ed5", "vermillion"},
	} {
		bad := bytes.ReplaceAll(good, []byte(edit[0]), []byte(edit[1]))
		if said, err := check(put("bad.kml", bad)); err == nil || !strings.Contains(said, "validity error") {
			t.Errorf("%s passed: %v, %s", name, err, said)
		}
	}
}
