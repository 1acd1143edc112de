package main

import (
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"leadline/ingest/madelake"
)

// backtested is what the tests need of backtest.json.
type backtested struct {
	Verdict         string
	Earlier, Others struct {
		Lift    estimated `json:"lift_ratio"`
		Outside estimated `json:"lift_against_outside_ratio"`
	}
}

type estimated struct{ Value, Low, High *float64 }

func backtestOf(t *testing.T, p madelake.Plan) (b backtested) {
	t.Helper()
	dir, _ := madeSeason(t, p, noSonar)
	out := t.TempDir()
	cmd := exec.Command("leadline", "backtest", dir, "--boat", filepath.Join(dir, "boat.toml"), "-o", out, "--quiet")
	if said, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, said)
	}
	text, err := os.ReadFile(filepath.Join(out, "backtest.json"))
	if err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(text, &b); err != nil {
		t.Fatal(err)
	}
	return b
}

// Made seasons of fourteen days with three schools and eight barren places that are fished as hard: while schools stay, an hour at the
// zones of earlier days gives more than three times as many events as one anywhere, surely more than twice; the farther
// schools wander the less. The figures asked for are the and those of the season's make, not ours: 12 an hour at a school,
// half an event elsewhere, a seventh of the time at schools make at most 7.
func TestBacktestAgainstTheTruth(t *testing.T) {
	if testing.Short() {
		t.Skip("nine seasons")
	}
	var before float64
	for _, stray := range []float64{0, 40, 160} {
		sum := 0.0
		for seed := range uint64(3) {
			p := madelake.Plan{Seed: 40 + seed, Size: madelake.Full, Days: 14, Schools: 3, Barren: 8, EventsPerH: 12, BackgroundPerH: 0.5, StrayM: stray}
			b := backtestOf(t, p)
			lift := b.Earlier.Lift
			sum += *lift.Value
			if stray == 0 && (b.Verdict != "better" || *lift.Value < 3 || *lift.Low < 2 || *b.Others.Lift.Value < 3) {
				t.Errorf("seed %d: %s, lift %v from %v", seed, b.Verdict, *lift.Value, *lift.Low)
			}
		}
		t.Logf("schools that wander by %g m a day: mean lift %.2f", stray, sum/3)
		if before > 0 && !(sum < 0.8*before) {
			t.Errorf("schools that wander by %g m a day give a lift of %.2f, less far %.2f", stray, sum/3, before/3)
		}
		before = sum
	}
}

// Nothing schools: 3 events an hour come anywhere, and the lift is 1.
func TestBacktestOfAnEmptyLake(t *testing.T) {
	if testing.Short() {
		t.Skip("four seasons")
	}
	holds, asked := 0, 0
	for seed := range uint64(4) {
		b := backtestOf(t, madelake.Plan{Seed: 70 + seed, Size: madelake.Full, Days: 12, Barren: 8, BackgroundPerH: 3})
		for _, e := range []estimated{b.Earlier.Lift, b.Others.Lift} {
			if e.Low == nil {
				continue
			}
			asked++
			if *e.Low <= 1 && *e.High >= 1 {
				holds++
			}
			t.Logf("seed %d: lift %.2f (%.2f to %.2f)", seed, *e.Value, *e.Low, *e.High)
		}
	}
	if asked < 6 || holds < asked-1 { // of eight right intervals of 95 % two fail in one of twenty
		t.Errorf("%d of %d intervals hold 1", holds, asked)
	}
}
