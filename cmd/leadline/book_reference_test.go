//go:build reference

package main

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// The logbook as other programs read it: GDAL and its validator (Debian packages
// gdal-bin and python3-gdal, seen with 3.6.2), and a reader in Python's standard sqlite3, zlib and struct that was
// written from logbook.Definition and the comment of package ingest/pack.

// A bookSeason is a demo in a folder, with the logbook made of it.
type bookSeason struct {
	t    *testing.T
	dir  string // the files
	book string
}

// leadline runs the command in a process of its own and returns what it prints.
func (s bookSeason) leadline(args ...string) string {
	s.t.Helper()
	return s.in(s.book, args...)
}

// in does so with another logbook.
func (s bookSeason) in(book string, args ...string) string {
	s.t.Helper()
	cmd := exec.Command("leadline", append(args, "--logbook", book, "--boat", filepath.Join(s.dir, "boat.toml"))...)
	var out, complaints bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &complaints
	if err := cmd.Run(); err != nil && cmd.ProcessState.ExitCode() != exitSetAside {
		s.t.Fatalf("leadline %q: %v\n%s", args, err, complaints.String())
	}
	return out.String()
}

// demoBook makes a demo and imports it.
func demoBook(t *testing.T, flags ...string) bookSeason {
	t.Helper()
	s := bookSeason{t, filepath.Join(t.TempDir(), "season"), filepath.Join(t.TempDir(), "season.gpkg")}
	s.leadline(append([]string{"demo", s.dir}, flags...)...)
	s.leadline("import", s.dir)
	return s
}

// smallDemos are the seasons that the tests go through.
var smallDemos = map[string][]string{"calm": {"--small"}, "windy": {"--small", "--windy"}}

// noteOften adds a note of each kind to the first day.
func (s bookSeason) noteOften() {
	s.t.Helper()
	day := s.days(s.book)[0].Date
	list := strings.Split(s.leadline("note", "list", day), "\n")
	number := func(line int) string { return strings.Fields(list[line])[0] }
	s.leadline("note", "add", "--time", day+"T08:14", "--depth", "18ft", "--species", "spotted bass")
	s.leadline("note", "add", "--time", day+"T08:20", "--at", "36.5009,-40.0059", "--kind", "bait")
	s.leadline("note", "change", number(1), "--depth", "13ft", "--text", "über dem Grund")
	s.leadline("note", "drop", number(2))
	s.leadline("note", "level", day, "512ft")
	s.leadline("note", "wind", day+"T07:00", "10mph@NW")
	s.leadline("note", "clarity", day, "6ft")
}

// A bookDay is what days --json says of a day, but for the names of its files.
type bookDay struct {
	Date                                   string
	First, Last                            string
	OnWaterS                               float64 `json:"on_water_s"`
	Fixes, Soundings, Events, Winds, Notes int
	LevelM                                 *float64 `json:"level_m"`
	TempC                                  *float64 `json:"temp_c"`
	ClarityM                               *float64 `json:"clarity_m"`
	Bounds                                 [4]float64
}

func (s bookSeason) days(book string) []bookDay {
	s.t.Helper()
	var out struct{ Days []bookDay }
	if err := json.Unmarshal([]byte(s.in(book, "days", "--json")), &out); err != nil {
		s.t.Fatal(err)
	}
	if len(out.Days) == 0 {
		s.t.Fatal("no days")
	}
	return out.Days
}

// valid holds a logbook against GDAL's validator, which says nothing of a good one, extra checks included.
func valid(t *testing.T, when, book string) {
	t.Helper()
	out, err := exec.Command("/usr/bin/python3", "-m", "osgeo_utils.samples.validate_gpkg", "-k", "--extra", "--warning-as-error", book).CombinedOutput()
	if err != nil || strings.TrimSpace(string(out)) != "" {
		t.Errorf("%s: the validator says: %v\n%s", when, err, out)
	}
}

// python runs a script with arguments and reads the JSON it prints.
func python(t *testing.T, script string, into any, args ...string) {
	t.Helper()
	cmd := exec.Command("/usr/bin/python3", append([]string{"-c", script}, args...)...)
	var out, complaints bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &complaints
	err := cmd.Run()
	if complaints.Len() > 0 {
		t.Errorf("python3 says:\n%s", complaints.String())
	}
	if err == nil {
		err = json.Unmarshal(out.Bytes(), into)
	}
	if err != nil {
		t.Fatalf("%v\n%.1000s", err, out.String())
	}
}

// GDAL's validator finds nothing in a logbook whatever was done with it, and a season
// imported in two goes, or forgotten and imported again, is the same season.
func TestLogbookIsValid(t *testing.T) {
	for name, flags := range smallDemos {
		t.Run(name, func(t *testing.T) {
			s := demoBook(t, flags...)
			valid(t, "imported", s.book)
			want := s.days(s.book)
			day := want[1].Date

			s.leadline("forget", day)
			valid(t, "a day forgotten", s.book)
			if got := s.days(s.book); !reflect.DeepEqual(got, slices.Concat(want[:1], want[2:])) {
				t.Errorf("without %s:\n%+v\nwant\n%+v", day, got, want)
			}
			s.leadline("import", s.dir)
			valid(t, "imported again", s.book)
			if got := s.days(s.book); !reflect.DeepEqual(got, want) {
				t.Errorf("imported again:\n%+v\nwant\n%+v", got, want)
			}

			s.noteOften()
			valid(t, "noted", s.book)
			s.leadline("zones", "-o", t.TempDir())
			valid(t, "zones found", s.book)
			s.leadline("forget", want[0].Date)
			valid(t, "the day of the notes forgotten", s.book)
			for _, d := range want[1:] {
				s.leadline("forget", d.Date)
			}
			valid(t, "all forgotten", s.book)

			// The logs first: their clocks are put right only when the tracks come.
			logs, err := filepath.Glob(filepath.Join(s.dir, "*-sonar.csv"))
			if err != nil || len(logs) == 0 {
				t.Fatal(logs, err)
			}
			two := filepath.Join(t.TempDir(), "two.gpkg")
			s.in(two, append([]string{"import"}, logs...)...)
			valid(t, "logs only", two)
			s.in(two, "import", s.dir)
			valid(t, "a second import", two)
			if got := s.days(two); !reflect.DeepEqual(got, want) {
				t.Errorf("in two goes:\n%+v\nwant\n%+v", got, want)
			}
		})
	}
}

// A seenLayer is what GDAL says of a layer.
type seenLayer struct {
	Count    int
	Geometry string
	SRS      string
	Fields   []string // name:type
	Extent   []float64
	Scanned  []float64 // the extent of the shapes one by one
	Fast     bool      // filtered by the index
	Indexed  []int     // how many the index finds in boxes
	Within   []int     // and a scan
	Astray   []string  // instants and measures outside their day
}

const gdalReader = `
import json, sys
from datetime import datetime, timedelta, timezone
from osgeo import gdal, ogr
gdal.UseExceptions()
ds = gdal.OpenEx(sys.argv[1], gdal.OF_VECTOR)
assert ds.GetDriver().ShortName == 'GPKG'
hours = timedelta(hours=int(sys.argv[2]))
out = {}
for i in range(ds.GetLayerCount()):
    l = ds.GetLayer(i)
    d = l.GetLayerDefn()
    x = out[l.GetName()] = {'count': l.GetFeatureCount(), 'geometry': ogr.GeometryTypeToName(l.GetGeomType()), 'fields': [], 'astray': []}
    for k in range(d.GetFieldCount()):
        f = d.GetFieldDefn(k)
        sub = f.GetSubType()
        x['fields'].append(f.GetName() + ':' + (ogr.GetFieldSubTypeName(sub) if sub != ogr.OFSTNone else f.GetTypeName()))
    for f in l:
        day = f.GetField('day') if d.GetFieldIndex('day') >= 0 else None
        if not day:
            continue
        instants = []
        for name in ('time', 'first', 'last'):
            k = d.GetFieldIndex(name)
            if k >= 0 and f.IsFieldSetAndNotNull(k):
                y, mo, da, h, mi, s, zone = f.GetFieldAsDateTime(k)
                assert zone == 100, 'no UTC'
                instants.append(datetime(y, mo, da, h, mi, int(s), round(s % 1 * 1e6), tzinfo=timezone.utc))
        g = f.GetGeometryRef()
        if g is not None and g.IsMeasured():
            m = [datetime.fromtimestamp(g.GetM(k), timezone.utc) for k in range(g.GetPointCount())]
            if m != sorted(m) or m[0] != instants[0] or m[-1] != instants[1]:
                x['astray'].append('%s: measures %s to %s, track %s' % (f.GetFID(), m[0], m[-1], instants))
            instants += m
        k = d.GetFieldIndex('unix_ns')
        if k >= 0 and f.IsFieldSetAndNotNull(k):
            at = datetime.fromtimestamp(f.GetFieldAsInteger64(k) / 1e9, timezone.utc)
            if instants and abs((at - instants[0]).total_seconds()) > 0.001:
                x['astray'].append('%s: %s by unix_ns, %s by time' % (f.GetFID(), at, instants[0]))
            instants.append(at)
        for t in instants:
            if str((t + hours).date()) != day:
                x['astray'].append('%s: %s isn\'t of %s' % (f.GetFID(), t, day))
    if l.GetGeomType() == ogr.wkbNone:
        continue
    srs = l.GetSpatialRef()
    x['srs'] = srs.GetAuthorityName(None) + ':' + srs.GetAuthorityCode(None)
    x['fast'] = bool(l.TestCapability(ogr.OLCFastSpatialFilter))
    shapes = [g.Clone() for g in (f.GetGeometryRef() for f in l) if g is not None]
    if not shapes:
        continue
    x['extent'] = list(l.GetExtent(force=0))
    e = [g.GetEnvelope() for g in shapes]
    w, east = min(v[0] for v in e), max(v[1] for v in e)
    s, n = min(v[2] for v in e), max(v[3] for v in e)
    x['scanned'] = [w, east, s, n]
    x['indexed'], x['within'] = [], []
    for a, b in ((0, 0.5), (0.31, 0.62), (0.5, 1), (0.9, 0.91)):
        x0, x1, y0, y1 = w + a * (east - w), w + b * (east - w), s + a * (n - s), s + b * (n - s)
        box = ogr.CreateGeometryFromWkt('POLYGON((%r %r,%r %r,%r %r,%r %r,%r %r))' % (x0, y0, x1, y0, x1, y1, x0, y1, x0, y0))
        l.SetSpatialFilterRect(x0, y0, x1, y1)
        x['indexed'].append(sum(1 for f in l))
        l.SetSpatialFilter(None)
        x['within'].append(sum(1 for g in shapes if g.Intersects(box)))
print(json.dumps(out))
`

// What GDAL must see of each layer: the geometry, and the fields with the types that the columns' SQL types stand for
// (GeoPackage 1.3, table 1): DATETIME DateTime, REAL Real, INTEGER Integer64, TEXT String, BOOLEAN Boolean.
var gdalLayers = map[string][]string{
	"days": {"None", "day:String", "first:DateTime", "last:DateTime", "on_water_s:Real", "fixes:Integer64", "soundings:Integer64", "events:Integer64",
		"level_m:Real", "temp_c:Real", "west:Real", "south:Real", "east:Real", "north:Real"},
	"tracks":    {"Measured Line String", "day:String", "source:Integer64", "name:String", "first:DateTime", "last:DateTime", "fixes:Integer64"},
	"soundings": {"Point", "day:String", "source:Integer64", "time:DateTime", "depth_m:Real", "temp_c:Real"},
	"events": {"Point", "day:String", "time:DateTime", "unix_ns:Integer64", "placed_by:String", "kind:String", "species:String", "count:Integer64",
		"length_m:Real", "weight_kg:Real", "fish_m:Real", "head_kg:Real", "trailer_m:Real", "note:String", "source:Integer64", "place:Integer64", "line:Integer64"},
	"levels": {"None", "day:String", "unix_ns:Integer64", "level_m:Real", "source:Integer64", "line:Integer64"},
	"winds":  {"None", "day:String", "time:DateTime", "unix_ns:Integer64", "speed_mps:Real", "from_deg:Real", "source:Integer64", "line:Integer64"},
	"sources": {"None", "name:String", "sha256:String", "taken_for:String", "rows_read:Integer64", "rows_used:Integer64", "rows_repaired:Integer64",
		"rows_rejected:Integer64", "zone:String", "clock_found_s:Real", "clock_offset_s:Real", "clock:String", "clock_in_doubt:Boolean", "left_out:String", "columns:String"},
	"rejected": {"None", "source:Integer64", "file:String", "line:Integer64", "field:String", "found:String", "wanted:String", "outcome:String", "reason:String", "content:String"},
	"notes": {"Point", "day:String", "what:String", "time:DateTime", "unix_ns:Integer64", "for_sha256:String", "for_place:Integer64", "value:Real", "from_deg:Real",
		"kind:String", "species:String", "count:Integer64", "length_m:Real", "weight_kg:Real", "fish_m:Real", "head_kg:Real", "trailer_m:Real", "note:String"},
	"found_zones": {"Polygon", "id:String", "name:String", "proven:Boolean", "properties:String"},
	"found_lines": {"Line String", "id:String", "name:String", "proven:Boolean", "properties:String"},
}

// wantedCounts is how many features each layer has by what the command says elsewhere: check --json of the
// files, days --json, and the overlay that zones wrote to out. Of tracks and soundings, which are thinned, it has none.
func (s bookSeason) wantedCounts(out string) map[string]int {
	s.t.Helper()
	var checked struct {
		Files []struct {
			TakenFor string `json:"taken_for"`
			RowsRead int    `json:"rows_read"`
			Used     int
			Rejected []struct{}
			Repairs  []struct{}
			InDoubt  []struct{} `json:"in_doubt"`
		}
	}
	if err := json.Unmarshal([]byte(s.leadline("check", s.dir, "--json")), &checked); err != nil {
		s.t.Fatal(err)
	}
	counts := map[string]int{"notes": 7, "events": 0, "winds": 0}
	for _, f := range checked.Files {
		if f.RowsRead == 0 {
			continue
		}
		counts["sources"]++
		counts["rejected"] += len(f.Rejected) + len(f.Repairs) + len(f.InDoubt)
		switch f.TakenFor {
		case "CSV catch log", "GPX waypoints":
			counts["events"] += f.Used
		case "CSV water levels":
			counts["levels"] += f.Used
		case "CSV wind table":
			counts["winds"] += f.Used
		case "CSV depth log", "GPX track":
		default:
			s.t.Errorf("no count for %q", f.TakenFor)
		}
	}
	counts["days"] = len(s.days(s.book))
	var overlay struct {
		Features []struct {
			ID       string
			Geometry struct{ Type string }
		}
	}
	text, err := os.ReadFile(filepath.Join(out, "overlay.geojson"))
	if err == nil {
		err = json.Unmarshal(text, &overlay)
	}
	if err != nil {
		s.t.Fatal(err)
	}
	var zones, lines int
	for _, f := range overlay.Features {
		switch {
		case strings.HasPrefix(f.ID, "Z") && f.Geometry.Type == "Polygon" && !strings.ContainsAny(f.ID, "-/"):
			zones++
		case strings.HasPrefix(f.ID, "D") && f.Geometry.Type == "LineString" && !strings.ContainsAny(f.ID, "-/"):
			lines++
		}
	}
	counts["found_zones"], counts["found_lines"] = zones, lines
	return counts
}

// GDAL opens every layer and sees what was put in; the tables of our own are none.
func TestLogbookAsGDALReadsIt(t *testing.T) {
	for name, flags := range smallDemos {
		t.Run(name, func(t *testing.T) {
			s := demoBook(t, flags...)
			s.noteOften()
			out := t.TempDir()
			s.leadline("zones", "-o", out)
			var seen map[string]seenLayer
			python(t, gdalReader, &seen, s.book, "-3")
			if len(seen) != len(gdalLayers) {
				t.Errorf("%d layers, want %d", len(seen), len(gdalLayers))
			}
			counts := s.wantedCounts(out)
			for layer, want := range gdalLayers {
				got, ok := seen[layer]
				if !ok {
					t.Errorf("%s: not seen", layer)
					continue
				}
				if got.Geometry != want[0] || !slices.Equal(got.Fields, want[1:]) {
					t.Errorf("%s: %s %q, want %q", layer, got.Geometry, got.Fields, want)
				}
				if n, known := counts[layer]; known && got.Count != n {
					t.Errorf("%s: %d features, want %d", layer, got.Count, n)
				}
				for _, words := range got.Astray {
					t.Errorf("%s: %s", layer, words)
				}
				if want[0] == "None" {
					continue
				}
				if got.SRS != "EPSG:4326" || !got.Fast {
					t.Errorf("%s: in %s, index %t", layer, got.SRS, got.Fast)
				}
				// GDAL takes the extent from gpkg_contents through 15 digits of text.
				if !slices.EqualFunc(got.Extent, got.Scanned, func(a, b float64) bool { return math.Abs(a-b) < 1e-12 }) || len(got.Extent) != 4 {
					t.Errorf("%s: extent %v, of the shapes %v", layer, got.Extent, got.Scanned)
				}
				if !slices.Equal(got.Indexed, got.Within) {
					t.Errorf("%s: the index finds %d in the boxes, a scan %d", layer, got.Indexed, got.Within)
				}
			}
			for _, layer := range []string{"tracks", "soundings", "events"} {
				if n := seen[layer].Within; len(n) < 2 || n[0] == 0 || n[1] == 0 || n[0] >= seen[layer].Count {
					t.Errorf("%s: %d of %d in the boxes: the filter was not tried", layer, n, seen[layer].Count)
				}
			}
			fixes, soundings := 0, 0
			for _, d := range s.days(s.book) {
				fixes, soundings = fixes+d.Fixes, soundings+d.Soundings
			}
			if n := seen["soundings"].Count; n < soundings/50 || n >= soundings {
				t.Errorf("%d soundings shown of %d", n, soundings)
			}
			t.Logf("%d fixes in %d lines, %d of %d soundings shown, counts %v", fixes, seen["tracks"].Count, seen["soundings"].Count, soundings, counts)
			text, err := exec.Command("ogrinfo", "-ro", "-so", "-al", s.book).CombinedOutput()
			if err != nil || bytes.Contains(text, []byte("Warning")) || bytes.Contains(text, []byte("ERROR")) || bytes.Contains(text, []byte("Layer name: leadline")) {
				t.Errorf("ogrinfo: %v\n%s", err, text)
			}
			// -spat of the command, too: the south-west quarter.
			e := seen["soundings"].Scanned
			box := []string{"-spat"}
			for _, v := range []float64{e[0], e[2], (e[0] + e[1]) / 2, (e[2] + e[3]) / 2} {
				box = append(box, strconv.FormatFloat(v, 'f', -1, 64))
			}
			text, err = exec.Command("ogrinfo", append(box, "-ro", "-q", s.book, "soundings")...).CombinedOutput()
			if n := bytes.Count(text, []byte("OGRFeature(")); err != nil || n != seen["soundings"].Within[0] {
				t.Errorf("ogrinfo -spat: %d soundings, a scan %d: %v", n, seen["soundings"].Within[0], err)
			}
		})
	}
}

const columnReader = `
import json, sqlite3, sys
db = sqlite3.connect('file:' + sys.argv[1] + '?mode=ro', uri=True)
described = {(t, c): d for t, c, d in db.execute('SELECT table_name, column_name, description FROM gpkg_data_columns')}
layers = [t for t, in db.execute('SELECT table_name FROM gpkg_contents')]
hidden = [t for t, in db.execute("SELECT table_name FROM gpkg_extensions WHERE extension_name LIKE 'leadline%'")]
print(json.dumps({
    'columns': [[t, c[1], described.get((t, c[1]))] for t in layers for c in db.execute('SELECT * FROM pragma_table_info(?)', (t,))],
    'hidden': hidden, 'layers': layers,
    'tables': [t for t, in db.execute("SELECT name FROM sqlite_master WHERE type = 'table'")],
    'definitions': dict(db.execute('SELECT extension_name, definition FROM gpkg_extensions')),
}))
`

// Whoever opens the file reads the unit of every column that has one in gpkg_data_columns (the schema extension), and
// the tables of our own are told of in gpkg_extensions, not in gpkg_contents.
func TestLogbookTellsItsColumns(t *testing.T) {
	s := demoBook(t, smallDemos["calm"]...)
	var seen struct {
		Columns     [][3]*string
		Hidden      []string
		Layers      []string
		Tables      []string
		Definitions map[string]string
	}
	python(t, columnReader, &seen, s.book)
	units := map[string]string{"_m": "m", "_kg": "kg", "_mps": "m/s", "_deg": "deg", "_c": "degC", "_s": "s", "_ns": "ns"}
	told := map[string]int{}
	for _, c := range seen.Columns {
		table, name := *c[0], *c[1]
		k := strings.LastIndex(name, "_")
		if k < 0 || units[name[k:]] == "" {
			continue
		}
		told[name[k:]]++
		if want := "(unit: " + units[name[k:]] + ")"; c[2] == nil || !strings.HasSuffix(*c[2], want) {
			t.Errorf("%s.%s isn't described with %q", table, name, want)
		}
	}
	for suffix := range units {
		if told[suffix] == 0 {
			t.Errorf("no column ends in %s", suffix)
		}
	}
	slices.Sort(seen.Hidden)
	if want := []string{"leadline_packed", "leadline_settings", "leadline_version"}; !slices.Equal(seen.Hidden, want) {
		t.Errorf("extension tables %q, want %q", seen.Hidden, want)
	}
	for _, name := range seen.Hidden {
		if !slices.Contains(seen.Tables, name) || slices.Contains(seen.Layers, name) || seen.Definitions[name] == "" {
			t.Errorf("%s: isn't there, is listed as a layer, or isn't defined", name)
		}
	}
	for _, name := range seen.Tables {
		if strings.HasPrefix(name, "leadline") && !slices.Contains(seen.Hidden, name) {
			t.Errorf("%s: no extension", name)
		}
	}
}

// A reader of leadline_packed, written from its definition in the file and the comment of package ingest/pack. It holds
// the fixes and soundings of every day against the files of export in folder argv[2], and the thinned layers
// against the fixes.
const packedReader = `
import csv, glob, json, math, os, sqlite3, struct, sys, zlib
import xml.etree.ElementTree as ET
from datetime import datetime, timezone

M = 1 << 64
def signed(u):
    u %= M
    return u - M if u >= M // 2 else u
def uvarint(b, at):
    u = shift = 0
    while True:
        c = b[at]; at += 1
        u |= (c & 0x7f) << shift
        shift += 7
        if c < 0x80:
            return u, at
def zigzag(b, at):
    u, at = uvarint(b, at)
    return (u >> 1 if u % 2 == 0 else -(u + 1) // 2), at
def swap(b):
    return b if b >= 0 else signed(b ^ (2**63 - 1))
def rank(f):
    return swap(struct.unpack('>q', struct.pack('>d', f))[0])
def number(r):
    return struct.unpack('>d', struct.pack('>q', swap(r)))[0]
def inflate(coding, b):
    if coding & 8:
        z = zlib.decompressobj(-15)
        b = z.decompress(b)
        assert z.eof and not z.unused_data
    return b
def ints(b):
    coding = b[0]
    assert coding & ~8 in (0x10, 0x11, 0x12)
    n, at = uvarint(b, 1)
    if n == 0:
        return []
    b = inflate(coding, b[at:])
    base, at = zigzag(b, 0)
    step, at = uvarint(b, at)
    order, v, d = coding & 7, [base], 0
    if order == 0:
        v = []
        for _ in range(n):
            u, at = uvarint(b, at)
            v.append(signed(base + step * u))
    else:
        for _ in range(n - 1):
            e, at = zigzag(b, at)
            d = step * e + (d if order == 2 else 0)
            v.append(signed(v[-1] + d))
    assert at == len(b)
    return v
def floats(b):
    coding = b[0]
    n, at = uvarint(b, 1)
    b = b[at:]
    if n == 0:
        return []
    if coding == 0x20:
        scale, at = uvarint(b, 0)
        return [k / scale for k in ints(b[at:])]
    if coding == 0x21:
        scale, at = uvarint(b, 0)
        size, at = uvarint(b, at)
        return [number(signed(rank(k / scale) + off)) for k, off in zip(ints(b[at:at + size]), ints(b[at + size:]))]
    if coding == 0x22:
        size, at = uvarint(b, 0)
        distinct = ints(b[at:at + size])
        return [number(distinct[p]) for p in ints(b[at + size:])]
    assert coding & ~8 == 0x23
    b, v, last = inflate(coding, b), [], 0
    for i in range(n):
        last ^= int.from_bytes(bytes(b[p * n + i] for p in range(8)), 'big')
        v.append(struct.unpack('>d', struct.pack('>Q', last))[0])
    return v
def bools(b):
    coding = b[0]
    assert coding & ~8 == 0x30
    n, at = uvarint(b, 1)
    b = inflate(coding, b[at:])
    return [bool(b[i // 8] >> i % 8 & 1) for i in range(n)]

db = sqlite3.connect('file:' + sys.argv[1] + '?mode=ro', uri=True)
found = {fid: int((s or 0) * 1e9) for fid, s in db.execute('SELECT fid, clock_found_s FROM sources')}

def records(source, day, kind, names):
    parts = {}
    for part, n, col, data in db.execute('SELECT part, n, col, data FROM leadline_packed WHERE source = ? AND day = ? AND kind = ? ORDER BY part', (source, day, kind)):
        parts.setdefault(part, (n, {}))[1][col] = data
    out = []
    for part in sorted(parts):
        n, cols = parts[part]
        def column(name, read, ok):
            if name not in cols:
                return [None] * n
            v = iter(read(cols[name]))
            has = bools(cols[ok]) if ok in cols else [True] * n
            assert len(has) == n
            v = [next(v) if h else None for h in has]
            return v
        got = {'time': column('time', ints, 'time_ok')}
        got['time'] = [None if t is None else t + found[source] for t in got['time']]
        for name, ok in names:
            got[name] = column(name, floats, ok)
        line = column('line', ints, '')
        assert line == sorted(line) and len(line) == n
        out += zip(got['time'], *(got[name] for name, _ in names))
    return out

def nanos(text):
    if not text:
        return None
    text = text.rstrip('Z')
    whole, _, part = text.partition('.')
    return int(datetime.fromisoformat(whole).replace(tzinfo=timezone.utc).timestamp()) * 10**9 + int(part.ljust(9, '0') or 0)
def value(text):
    return float(text) if text else None

out = {'days': {}, 'wrong': []}
moved = set()
for day, in db.execute('SELECT day FROM days ORDER BY day').fetchall():
    count = out['days'][day] = {'packed': 0, 'fixes': 0, 'soundings': 0}
    sources = [s for s, in db.execute("""SELECT source FROM leadline_packed WHERE day = ?1 UNION SELECT source FROM events WHERE day = ?1
        UNION SELECT source FROM levels WHERE day = ?1 UNION SELECT source FROM winds WHERE day = ?1 ORDER BY 1""", (day,))]
    fixes = []
    for k, source in enumerate(sources):
        start = os.path.join(sys.argv[2], '%s-%02d-' % (day, k + 1))
        mine = records(source, day, 'fix', [('lon', ''), ('lat', ''), ('speed', 'speed_ok'), ('course', 'course_ok')])
        theirs = []
        for name in glob.glob(start + '*.gpx'):
            for p in ET.parse(name).getroot().iterfind('.//{*}trkpt'):
                text = lambda tag: p.findtext('.//{*}' + tag)
                theirs.append((nanos(text('time')), float(p.get('lon')), float(p.get('lat')), value(text('speed')), value(text('course'))))
        if mine != theirs:
            at = next((i for i, (a, b) in enumerate(zip(mine, theirs)) if a != b), min(len(mine), len(theirs)))
            out['wrong'].append('%s, source %d: %d fixes packed, %d written, different from %d on: %r %r' % (day, source, len(mine), len(theirs), at, mine[at:at + 1], theirs[at:at + 1]))
        mine_s = records(source, day, 'sounding', [('lon', 'pos_ok'), ('lat', 'pos_ok'), ('depth', ''), ('temp', 'temp_ok'), ('speed', 'speed_ok')])
        theirs = []
        for name in glob.glob(start + '*-depths*.csv'):
            with open(name, newline='') as f:
                for r in csv.DictReader(f):
                    depth = [v for n, v in r.items() if n.startswith('depth')]
                    assert len(depth) == 1
                    theirs.append((nanos(r['time']), value(r['lon']), value(r['lat']), value(depth[0]), value(r['temp_c']), value(r['speed_mps'])))
        if mine_s != theirs:
            at = next((i for i, (a, b) in enumerate(zip(mine_s, theirs)) if a != b), min(len(mine_s), len(theirs)))
            out['wrong'].append('%s, source %d: %d soundings packed, %d written, different from %d on: %r %r' % (day, source, len(mine_s), len(theirs), at, mine_s[at:at + 1], theirs[at:at + 1]))
        count['packed'] += len(mine)
        if not mine: # a log's own positions stand in where no track is
            mine = [(t, lon, lat) for t, lon, lat, *_ in mine_s if t is not None and lon is not None]
        fixes += mine
        count['fixes'] += len(mine)
        count['soundings'] += len(mine_s)
        if found[source] and mine_s:
            moved.add(source)
    # The thinned lines: their vertices are fixes, with the fix's time for a measure, and no sound fix lies far beside them.
    known = {(lon, lat, t // 10**6 / 1000) for t, lon, lat, *_ in fixes if t is not None}
    lines = []
    for geom, in db.execute('SELECT geom FROM tracks WHERE day = ?', (day,)):
        assert geom[:3] == b'GP\x00' and geom[3] & 1, 'GeoPackage 1.3, 2.1.3: magic, version, little endian'
        at = 8 + {0: 0, 1: 32, 2: 48, 3: 48, 4: 64}[geom[3] >> 1 & 7]
        order, kind, n = struct.unpack_from('<BII', geom, at)
        assert (order, kind) == (1, 2002), 'ISO WKB: LINESTRING M'
        line = [struct.unpack_from('<3d', geom, at + 9 + 24 * i) for i in range(n)]
        assert len(geom) == at + 9 + 24 * n
        for v in line:
            if v not in known:
                out['wrong'].append('%s: %r of a line is no fix' % (day, v))
        lines.append(line)
    lat = fixes[0][2]
    east, north = 111320 * math.cos(math.radians(lat)), 111320
    far = 0
    for t, lon, lat, *_ in fixes:
        near = math.inf
        for line in lines:
            if t is None or not line[0][2] - 1 <= t / 1e9 <= line[-1][2] + 1:
                continue
            # the piece of that time: measures rise
            i = next((i for i in range(1, len(line)) if line[i][2] >= t / 1e9), len(line) - 1)
            for a, b in zip(line[max(0, i - 2):i + 1], line[max(0, i - 2) + 1:i + 2]):
                dx, dy = (b[0] - a[0]) * east, (b[1] - a[1]) * north
                px, py = (lon - a[0]) * east, (lat - a[1]) * north
                u = max(0, min(1, (px * dx + py * dy) / (dx * dx + dy * dy))) if dx or dy else 0
                near = min(near, math.hypot(px - u * dx, py - u * dy))
        if near > 1.52:
            far += 1
    count['far'] = far
    count['vertices'] = sum(map(len, lines))
out['moved'] = len(moved)
print(json.dumps(out))
`

// exportAll gives every day back into a folder.
func (s bookSeason) exportAll() (dir string) {
	s.t.Helper()
	dir = filepath.Join(s.t.TempDir(), "back")
	for _, d := range s.days(s.book) {
		s.leadline("export", d.Date, "-o", dir)
	}
	return dir
}

// The fixes and soundings in leadline_packed, read in Python by the definition in the file, are those that export writes;
// the lines of tracks are made of these fixes and, as package logbook says, run within 1.5 m of all sound ones (2 cm for the
// sphere that the check reckons with).
func TestPackedAsPythonReadsIt(t *testing.T) {
	for name, flags := range smallDemos {
		t.Run(name, func(t *testing.T) {
			s := demoBook(t, flags...)
			var seen struct {
				Days  map[string]struct{ Packed, Fixes, Soundings, Far, Vertices int }
				Wrong []string
				Moved int
			}
			python(t, packedReader, &seen, s.book, s.exportAll())
			for _, words := range seen.Wrong {
				t.Error(words)
			}
			if seen.Moved == 0 {
				t.Error("no log's clock was put right: that was not tried")
			}
			for _, d := range s.days(s.book) {
				got := seen.Days[d.Date]
				if got.Fixes < d.Fixes || got.Soundings < d.Soundings || got.Packed == 0 || got.Soundings == 0 {
					t.Errorf("%s: %+v packed, of them sound %d and %d", d.Date, got, d.Fixes, d.Soundings)
				}
				if flagged := got.Fixes - d.Fixes; got.Far > flagged {
					t.Errorf("%s: %d fixes are far from the lines, %d are not sound", d.Date, got.Far, flagged)
				}
			}
			t.Logf("%+v, %d clocks put right", seen.Days, seen.Moved)
		})
	}
}

// What export gives back, imported into a new logbook, is the same season: the same days and, to the byte, the same zones.
func TestExportedSeasonIsTheSame(t *testing.T) {
	for name, flags := range smallDemos {
		t.Run(name, func(t *testing.T) {
			s := demoBook(t, flags...)
			overlay := func(book string) []byte {
				out := t.TempDir()
				s.in(book, "zones", "-o", out)
				text, err := os.ReadFile(filepath.Join(out, "overlay.geojson"))
				if err != nil {
					t.Fatal(err)
				}
				return text
			}
			back := filepath.Join(t.TempDir(), "back.gpkg")
			s.in(back, "import", s.exportAll())
			valid(t, "exported and imported", back)
			if got, want := s.days(back), s.days(s.book); !reflect.DeepEqual(got, want) {
				t.Errorf("exported and imported:\n%+v\nwant\n%+v", got, want)
			}
			if want := overlay(s.book); len(want) < 10000 || !bytes.Equal(overlay(back), want) {
				t.Errorf("exported and imported, the zones are others (%d bytes of overlay)", len(want))
			}

			// Of the notes, those that add come back as records of files; those that correct, strike out or tell the clarity stay behind.
			s.noteOften()
			noted := filepath.Join(t.TempDir(), "noted.gpkg")
			s.in(noted, "import", s.exportAll())
			want := s.days(s.book)
			if d := want[0]; d.Notes != 7 || d.ClarityM == nil || d.LevelM == nil || math.Abs(*d.LevelM-512*0.3048) > 0.001 {
				t.Fatalf("noted: %+v", d)
			}
			want[0].Notes, want[0].ClarityM = 0, nil
			want[0].Events++ // the one struck out
			if got := s.days(noted); !reflect.DeepEqual(got, want) {
				t.Errorf("noted, exported and imported:\n%+v\nwant\n%+v", got, want)
			}
		})
	}
}

// The logbook of the full demo takes at most a quarter of the room of the recordings.
func TestLogbookSize(t *testing.T) {
	s := demoBook(t)
	raw := int64(0)
	files, err := os.ReadDir(s.dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		if ext := filepath.Ext(f.Name()); ext == ".gpx" || ext == ".csv" {
			info, err := f.Info()
			if err != nil {
				t.Fatal(err)
			}
			raw += info.Size()
		}
	}
	info, err := os.Stat(s.book)
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%.1f MB of recordings in a logbook of %.1f MB, %.1f %%", float64(raw)/1e6, float64(info.Size())/1e6, 100*float64(info.Size())/float64(raw))
	if raw < 30e6 || 4*info.Size() > raw {
		t.Errorf("%d bytes of recordings in a logbook of %d", raw, info.Size())
	}
}
