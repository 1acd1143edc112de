package head

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"leadline/ingest"
	"leadline/ingest/si"
)

// A row of a reference table, by column. The source of each table's figures is in its
// first lines.
type row struct {
	t      *testing.T
	fields map[string]string
}

func reference(t *testing.T, name string) []row {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", "reference", "head", name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.Comment = '#'
	all, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []row
	for _, rec := range all[1:] {
		m := map[string]string{}
		for i, column := range all[0] {
			m[column] = rec[i]
		}
		rows = append(rows, row{t, m})
	}
	if len(rows) == 0 {
		t.Fatalf("%s is empty", name)
	}
	return rows
}

func (r row) str(column string) string {
	r.t.Helper()
	s, ok := r.fields[column]
	if !ok {
		r.t.Fatalf("no column %q", column)
	}
	return s
}

func (r row) num(column string) float64 {
	r.t.Helper()
	v, err := strconv.ParseFloat(r.str(column), 64)
	if err != nil {
		r.t.Fatal(err)
	}
	return v
}

// near fails unless got is want to the relative tolerance.
func near(t *testing.T, what string, got, want, rel float64) {
	t.Helper()
	if !(math.Abs(got-want) <= rel*math.Abs(want)) {
		t.Errorf("%s: got %.10g, want %.10g to %g", what, got, want, rel)
	}
}

// within fails unless got is want to the absolute tolerance.
func within(t *testing.T, what string, got, want, abs float64) {
	t.Helper()
	if !(math.Abs(got-want) <= abs) {
		t.Errorf("%s: got %.10g, want %.10g to %g", what, got, want, abs)
	}
}

const leadKgM3 = 11340

// leadWeightN is the weight in water of so much lead.
func leadWeightN(massKg float64, w Water) float64 {
	return massKg * GravityMPS2 * (1 - w.DensityKgM3/leadKgM3)
}

// leadDiskM2 is the frontal area of a lead ball.
func leadDiskM2(massKg float64) float64 {
	d := math.Cbrt(6 * massKg / (math.Pi * leadKgM3))
	return math.Pi / 4 * d * d
}

// usualBox is a box as many carry it: common practice, no source; the line's diameters
// are from memory.
func usualBox() ingest.Tackle {
	const toQuarter, above = si.OunceKg / 4, si.OunceKg * 16
	t := ingest.Tackle{
		Lines: []ingest.LineRule{
			{UpToKg: toQuarter, Line: ingest.Line{Name: "8 lb fluorocarbon", DiameterM: 0.23e-3, DensityKgM3: 1780}},
			{UpToKg: above, Line: ingest.Line{Name: "50 lb braid", DiameterM: 0.36e-3, DensityKgM3: 970}},
		},
		Trailers: []ingest.TrailerRule{
			{UpToKg: toQuarter, LengthM: 2.8 * si.InchM},
			{UpToKg: above, LengthM: 3.8 * si.InchM},
		},
		MaxSinkS:    20,
		MaxAngleDeg: 45,
		WaterC:      15,
	}
	for _, oz := range []float64{1.0 / 16, 1.0 / 8, 3.0 / 16, 1.0 / 4, 3.0 / 8, 1.0 / 2, 3.0 / 4, 1} {
		t.Heads = append(t.Heads, ingest.Head{MassKg: oz * si.OunceKg, DensityKgM3: leadKgM3})
	}
	return t
}
