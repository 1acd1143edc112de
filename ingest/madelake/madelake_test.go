package madelake

import (
	"encoding/json"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/paulmach/orb"
)

// seeds is how many seasons the properties below are held against.
const seeds = 5

func ExampleMake() {
	files, truth := Make(Default(1, Small))
	fmt.Println(truth.Reservoir, len(truth.Schools), "schools", len(files), "files")
	fmt.Println(files[0].Name, files[1].Name)
	// Output:
	// Lantern Hollow Reservoir 6 schools 21 files
	// 2031-10-04-sonar.csv 2031-10-04-track.gpx
}

func TestSamePlanGivesSameBytes(t *testing.T) {
	a, truthA := Make(Default(3, Small))
	b, truthB := Make(Default(3, Small))
	if !reflect.DeepEqual(a, b) || !reflect.DeepEqual(truthA, truthB) {
		t.Error("two runs of one plan differ")
	}
	c, _ := Make(Default(4, Small))
	if reflect.DeepEqual(a, c) {
		t.Error("another seed gives the same season")
	}
}

func TestTruthFileIsTheTruth(t *testing.T) {
	small, windy := made[2](), windySeason()
	for _, s := range []season{small, windy} {
		var read Truth
		if err := json.Unmarshal(fileNamed(t, s.files, "truth.json"), &read); err != nil {
			t.Fatal(err)
		}
		told := s.truth
		told.Stretches = nil // not in the file
		if !reflect.DeepEqual(read, told) {
			t.Errorf("seed %d: truth.json read back differs from the truth returned", told.Seed)
		}
	}
}

func TestFiles(t *testing.T) {
	for seed := uint64(1); seed <= seeds; seed++ {
		files, truth := smallSeason(seed)
		var inputs []string
		total := 0
		for _, f := range files {
			total += len(f.Data)
			if len(f.Data) > 250_000 {
				t.Errorf("seed %d: %s has %d bytes, wanted at most 250 kB", seed, f.Name, len(f.Data))
			}
			if strings.HasSuffix(f.Name, ".gpx") || strings.HasSuffix(f.Name, ".csv") {
				inputs = append(inputs, f.Name)
			}
		}
		if total > 16*1<<20/10 {
			t.Errorf("seed %d: %d bytes in all, wanted at most 1.6 MiB", seed, total)
		}
		if !slices.IsSortedFunc(files, func(a, b File) int { return strings.Compare(a.Name, b.Name) }) {
			t.Errorf("seed %d: files are not in order of name", seed)
		}
		var told []string
		for _, f := range truth.Files {
			told = append(told, f.Name)
		}
		if !slices.Equal(inputs, told) {
			t.Errorf("seed %d: inputs are %v, the truth tells of %v", seed, inputs, told)
		}
	}
}

// A season that can be scored has enough events at most schools, lines drifted
// often enough to be found, and barren water fished hard enough to mislead a
// count of events without effort.
func TestSmallSeasonCanBeScored(t *testing.T) {
	for seed := uint64(1); seed <= seeds; seed++ {
		_, truth := smallSeason(seed)
		rich := 0
		var fished []float64
		for _, s := range truth.Schools {
			if s.Events >= 6 {
				rich++
			}
			fished = append(fished, s.FishedH)
		}
		slices.Sort(fished)
		median := (fished[2] + fished[3]) / 2
		if rich < 4 {
			t.Errorf("seed %d: %d schools gave 6 events or more, wanted 4", seed, rich)
		}
		if n := len(truth.Events); n < 60 || n > 140 {
			t.Errorf("seed %d: %d events, wanted 60 to 140", seed, n)
		}
		for _, b := range truth.Barren {
			if b.FishedH < 2*median {
				t.Errorf("seed %d: %s was fished %.2f h, wanted twice a school's %.2f h", seed, b.Name, b.FishedH, median)
			}
		}
		for _, l := range truth.DriftLines {
			if l.Passes < 4 {
				t.Errorf("seed %d: %s has %d passes, wanted 4", seed, l.Name, l.Passes)
			}
			if l.SpeedMPS < 0.15 || l.SpeedMPS > 0.45 || l.LengthM < 80 || l.LengthM > 250 {
				t.Errorf("seed %d: %s is %.0f m at %.2f m/s", seed, l.Name, l.LengthM, l.SpeedMPS)
			}
		}
	}
}

func TestOptions(t *testing.T) {
	t.Run("no schools", func(t *testing.T) {
		p := Default(1, Small)
		p.Schools = 0
		_, truth := Make(p)
		if len(truth.Schools) != 0 || len(truth.Events) == 0 || len(truth.DriftLines) != 2 {
			t.Errorf("%d schools, %d events, %d lines", len(truth.Schools), len(truth.Events), len(truth.DriftLines))
		}
		for _, e := range truth.Events {
			if e.From != "background" || e.School != "" {
				t.Errorf("an event at %v from %s", e.Time, e.From)
			}
		}
	})
	t.Run("nothing at all", func(t *testing.T) {
		files, truth := Make(Plan{Seed: 9, Days: 1})
		if len(truth.Events) != 0 || truth.FishingH < 1 || len(files) != 7 {
			t.Errorf("%d events, %.1f h fishing, %d files", len(truth.Events), truth.FishingH, len(files))
		}
	})
	t.Run("the most of everything", func(t *testing.T) {
		p := Plan{Seed: 2, Days: 20, Schools: len(schoolSites), Barren: len(barrenSites), EventsPerH: 60, BackgroundPerH: 10}
		_, truth := Make(p)
		if len(truth.Schools) != 8 || len(truth.Barren) != 8 || len(truth.Days) != 20 {
			t.Errorf("%d schools, %d barren, %d days", len(truth.Schools), len(truth.Barren), len(truth.Days))
		}
	})
	t.Run("rates leave the days alone", func(t *testing.T) {
		p := Default(1, Small)
		few, truthFew := Make(p)
		p.EventsPerH *= 2
		many, truthMany := Make(p)
		for _, f := range few {
			if strings.HasSuffix(f.Name, "-track.gpx") || strings.HasSuffix(f.Name, "-sonar.csv") {
				if string(f.Data) != string(fileNamed(t, many, f.Name)) {
					t.Errorf("%s changed with the rate of events", f.Name)
				}
			}
		}
		for _, e := range truthFew.Events {
			if !slices.ContainsFunc(truthMany.Events, func(o Event) bool { return o.Time.Equal(e.Time) && o.School == e.School }) {
				t.Errorf("the event at %v is gone at a higher rate", e.Time)
			}
		}
	})
	t.Run("schools that wander", func(t *testing.T) {
		p := Default(3, Full)
		p.StrayM = 30
		_, truth := Make(p)
		sum, n := 0.0, 0.0
		for _, s := range truth.Schools {
			if len(s.Wandered) != len(truth.Days) || s.Wandered[0].Lat != s.Lat || s.Wandered[0].Lon != s.Lon {
				t.Fatalf("%s: %+v", s.Name, s.Wandered)
			}
			for i := 1; i < len(s.Wandered); i++ {
				a, b := s.Wandered[i-1], s.Wandered[i]
				step := frame.DistanceM(orb.Point{a.Lon, a.Lat}, orb.Point{b.Lon, b.Lat})
				sum, n = sum+step*step, n+1
			}
			if s.PassesOver > 0 {
				t.Errorf("%d passes over %s", s.PassesOver, s.Name)
			}
			if s.Events < 5 {
				t.Errorf("%s gave %d", s.Name, s.Events)
			}
		}
		// Both ways together the root mean square is 30 √2 m, less where the bottom does not let them.
		if rms := math.Sqrt(sum / n); rms < 15 || rms > 30*math.Sqrt2*1.2 {
			t.Errorf("a step is %.0f m", rms)
		}
	})
	for _, p := range []Plan{{}, {Days: 21}, {Days: 1, StrayM: -1}, {Days: 1, StrayM: math.NaN()}, {Days: 1, Schools: 9}, {Days: 1, Schools: -1}, {Days: 1, Barren: 9}, {Days: 1, EventsPerH: math.NaN()}, {Days: 1, Size: 2}, {Days: 1, FixesPerS: 11}, {Days: 1, FixesPerS: -1},
		{Days: 1, WindSpreadDeg: 360.5}, {Days: 1, WindSpreadDeg: -1}, {Days: 1, WindSpreadDeg: math.NaN()}} {
		t.Run(fmt.Sprintf("panics on %+v", p), func(t *testing.T) {
			defer func() {
				if recover() == nil {
					t.Error("no panic")
				}
			}()
			Make(p)
		})
	}
}

// made keeps the default small seasons, which most tests look at and none changes.
var made = map[uint64]func() season{}

type season struct {
	files []File
	truth Truth
}

func init() {
	for seed := range uint64(2*seeds + 1) {
		made[seed] = sync.OnceValue(func() season {
			files, truth := Make(Default(seed, Small))
			return season{files, truth}
		})
	}
}

// windySeason is the one windy season that several tests look at.
var windySeason = sync.OnceValue(func() season {
	files, truth := Make(Windy(1))
	return season{files, truth}
})

func smallSeason(seed uint64) ([]File, Truth) {
	s := made[seed]()
	return s.files, s.truth
}

func fileNamed(t *testing.T, files []File, name string) []byte {
	t.Helper()
	for _, f := range files {
		if f.Name == name {
			return f.Data
		}
	}
	t.Fatalf("no file %s", name)
	return nil
}

func BenchmarkMake(b *testing.B) {
	for _, size := range []Size{Small, Full} {
		b.Run(size.String(), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Make(Default(1, size))
			}
		})
	}
}
