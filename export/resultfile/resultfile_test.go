package resultfile

import (
	"bytes"
	"encoding/json"
	"errors"
	"testing"

	"leadline/export"
	"leadline/export/exporttest"
	"leadline/ingest"
	"leadline/ingest/si"
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
	exporttest.Golden(t, "season.json", written(t, exporttest.Season(), export.Options{}))
	exporttest.Golden(t, "empty.json", written(t, exporttest.Empty(), export.Options{Units: si.Metric}))
}

func decoded(t *testing.T, b []byte) map[string]any {
	t.Helper()
	var v map[string]any
	if err := json.Unmarshal(b, &v); err != nil {
		t.Fatal(err)
	}
	return v
}

// TestNothingLost counts what went in against what came out.
func TestNothingLost(t *testing.T) {
	in := exporttest.Season()
	v := decoded(t, written(t, in, export.Options{}))
	count := func(list any) int { return len(list.([]any)) }
	for name, want := range map[string]int{
		"days": len(in.Chart.Days), "zones": len(in.Chart.Zones), "bands": len(in.Chart.Bands), "drifts": len(in.Chart.Drifts),
		"contours": len(in.Chart.Contours), "events": len(in.Chart.Events), "remarks": len(in.Chart.Remarks),
		"files": len(in.Sources), "problems_elsewhere": 1,
	} {
		if got := count(v[name]); got != want {
			t.Errorf("%d %s, want %d", got, name, want)
		}
	}
	problems := count(v["problems_elsewhere"])
	for i, f := range v["files"].([]any) {
		f := f.(map[string]any)
		for _, list := range []string{"rejected", "repairs", "in_doubt"} {
			problems += count(f[list])
		}
		if f["rows_read"] != f["used"].(float64)+f["repaired"].(float64)+f["set_aside"].(float64) {
			t.Errorf("file %d: rows don't add up", i)
		}
		if _, there := f["clock_offset_s"]; !there {
			t.Errorf("file %d: no clock_offset_s", i)
		}
	}
	if problems != len(in.Problems) {
		t.Errorf("%d problems, want %d", problems, len(in.Problems))
	}
	u := v["unplaced"].(map[string]any)
	sum := 0.0
	for _, r := range u["reasons"].([]any) {
		sum += r.(map[string]any)["count"].(float64)
	}
	records := 0
	for _, x := range in.Unplaced {
		records += x.Count
	}
	if n := count(u["list"]); n != len(in.Unplaced) || sum != float64(records) || u["count"] != float64(records) {
		t.Errorf("unplaced: %d listed, %v by reason, %v counted; want %d and %d", n, sum, u["count"], len(in.Unplaced), records)
	}
	for i, z := range v["zones"].([]any) {
		if got, want := count(z.(map[string]any)["head_trials"]), len(in.Chart.Zones[i].Head.Trials); got != want {
			t.Errorf("zone %d: %d head trials, want %d", i, got, want)
		}
	}
}

// TestSameName: two files under one name can't be told apart by their problems;
// the first has them all, and none is lost or counted twice.
func TestSameName(t *testing.T) {
	in := export.Findings{
		Sources:  []ingest.Source{{Name: "a.csv"}, {Name: "a.csv"}},
		Problems: []ingest.Problem{{File: "a.csv", Line: 3, Kind: ingest.ErrShape}},
	}
	for i, f := range decoded(t, written(t, in, export.Options{}))["files"].([]any) {
		if got, want := len(f.(map[string]any)["rejected"].([]any)), 1-i; got != want {
			t.Errorf("file %d has %d problems, want %d", i, got, want)
		}
	}
}

func TestListsNeverNull(t *testing.T) {
	v := decoded(t, written(t, exporttest.Empty(), export.Options{}))
	for _, name := range []string{"days", "zones", "bands", "drifts", "contours", "events", "remarks", "cautions", "files", "problems_elsewhere"} {
		if _, ok := v[name].([]any); !ok {
			t.Errorf("%s is %v", name, v[name])
		}
	}
	if s, there := v["settings"]; s != nil || !there {
		t.Errorf("settings is %v, there %v", s, there)
	}
}

func TestSameBytes(t *testing.T) {
	a, b := written(t, exporttest.Season(), export.Options{}), written(t, exporttest.Season(), export.Options{})
	if !bytes.Equal(a, b) {
		t.Error("two writes differ")
	}
}

type full struct{}

var errFull = errors.New("no space left")

func (full) Write([]byte) (int, error) { return 0, errFull }

func TestWriterError(t *testing.T) {
	if err := Write(full{}, exporttest.Season(), export.Options{}); !errors.Is(err, errFull) {
		t.Error(err)
	}
}
