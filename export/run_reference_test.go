//go:build reference

package export_test

import (
	"bytes"
	"context"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/export/geojsonfile"
	"leadline/export/gpxfile"
	"leadline/export/kmlfile"
	"leadline/export/save"
	"leadline/spatial"
)

// These checks read a run's outputs with the programs of reference_test.go.

func runOutputs(t *testing.T) string {
	t.Helper()
	c, r := exporttest.Run()
	dir := t.TempDir()
	write := func(f func(io.Writer, spatial.Chart, spatial.Run, export.Options) error) func(io.Writer) error {
		return func(w io.Writer) error { return f(w, c, r, export.Options{}) }
	}
	err := save.Files(context.Background(), dir, []save.Output{
		{Name: "run.geojson", Write: write(geojsonfile.WriteRun)},
		{Name: "run.kml", Write: write(kmlfile.WriteRun)},
		{Name: "run.gpx", Write: func(w io.Writer) error { return gpxfile.WriteRun(w, c, r, export.Options{}, true) }},
	})
	if err != nil {
		t.Fatal(err)
	}
	return dir
}

func TestGDALCountsOfARun(t *testing.T) {
	dir := runOutputs(t)
	for name, want := range map[string]string{
		"run.geojson": "run 7",
		"run.kml":     "Stops 3;Legs 4;Zones 3",
		"run.gpx":     "waypoints 7;routes 1;tracks 0;route_points 13;track_points 0",
	} {
		text := run(t, "ogrinfo", "-ro", "-so", "-al", filepath.Join(dir, name))
		var got []string
		for _, m := range layer.FindAllStringSubmatch(text, -1) {
			got = append(got, m[1]+" "+m[2])
		}
		if s := strings.Join(got, ";"); s != want {
			t.Errorf("%s has %s\nwant %s", name, s, want)
		}
	}
}

// TestGDALValuesOfARun: numbers, times and positions have the same value in both overlays,
// and what is unknown is null in both.
func TestGDALValuesOfARun(t *testing.T) {
	dir := runOutputs(t)
	for name, x := range map[string]struct {
		layer string
		want  []string
	}{
		"run.geojson": {"run", []string{`(?m)^  arrive \(DateTime\) = 2024/06/01 09:31:05\+00$`, `(?m)^  drift_start \(RealList\) = \(2:-39\.9981248,36\.5001982\)$`, `(?m)^  POINT \(-39\.9981248 36\.5001982\)$`}},
		"run.kml":     {"Stops", []string{`(?m)^  arrive \(String\) = 2024-06-01T09:31:05Z$`, `(?m)^  drift_start \(String\) = -39\.9981248,36\.5001982$`, `(?m)^  GEOMETRYCOLLECTION Z? ?\(.*LINESTRING.*POINT.*\)$`}},
	} {
		text := run(t, "ogrinfo", "-ro", "-where", "id = 'S2'", filepath.Join(dir, name), x.layer)
		for _, want := range append(x.want, `(?m)^  order \(Integer\) = 2$`, `(?m)^  expected \(Real\) = 3\.94$`, `(?m)^  head_oz \(Real\) = 0\.5$`, `(?m)^  leave_after_min \(Real\) = 41\.5$`, `(?m)^Feature Count: 1$`) {
			if !regexp.MustCompile(want).MatchString(text) {
				t.Errorf("%s: nothing like %s in\n%s", name, want, text)
			}
		}
		text = run(t, "ogrinfo", "-ro", "-where", "id = 'S1'", filepath.Join(dir, name), x.layer)
		if m := regexp.MustCompile(`(?m)^  (drift_start|drift_end|drift_toward_deg|pass_s) .*= [^(].*$`).FindString(text); m != "" || !strings.Contains(text, "Feature Count: 1") {
			t.Errorf("%s: unknown, yet has %q", name, m)
		}
	}
}

// TestKMLSchemaOfARun: xmllint finds the run valid by the schema of OGC KML 2.2 that comes
// with the module github.com/twpayne/go-kml, and finds a misplaced element.
func TestKMLSchemaOfARun(t *testing.T) {
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
	// As in TestKMLSchema: what the schema imports is not written here, and need only be declared.
	const head = `<schema xmlns="http://www.w3.org/2001/XMLSchema" elementFormDefault="qualified" targetNamespace=`
	put("atom-author-link.xsd", []byte(head+`"http://www.w3.org/2005/Atom"><element name="author"/><element name="link"/></schema>`))
	put("address.xsd", []byte(head+`"urn:oasis:names:tc:ciq:xsdschema:xAL:2.0"><element name="AddressDetails"/></schema>`))
	web := []byte("http://docs.oasis-open.org/election/external/xAL.xsd")
	if !bytes.Contains(schema, web) {
		t.Fatal("the schema's second import is not where it was")
	}
	path := put("ogckml22.xsd", bytes.Replace(schema, web, []byte("address.xsd"), 1))
	check := func(file string) (string, error) {
		out, err := exec.Command("xmllint", "--nonet", "--noout", "--schema", path, file).CombinedOutput()
		return string(out), err
	}
	file := filepath.Join(runOutputs(t), "run.kml")
	if said, err := check(file); err != nil {
		t.Errorf("%v\n%s", err, said)
	}
	good, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	bad := bytes.Replace(good, []byte("<MultiGeometry>"), []byte("<MultiGeometry><name>drift</name>"), 1)
	if said, err := check(put("bad.kml", bad)); err == nil || !strings.Contains(said, "validity error") {
		t.Errorf("a name in a geometry passed: %v, %s", err, said)
	}
}
