package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
)

// The pipeline's order: a package may use its own stage and earlier ones.
var stages = []string{"ingest", "spatial", "export", "cmd"}

// Tools that any package may use, and the doors in which the workers of a stage meet.
var (
	tools = []string{"ingest/si", "ingest/plane", "ingest/gpkg", "ingest/pack", "spatial/density", "spatial/rate", "spatial/raster", "spatial/surface", "spatial/isoline", "export/webmap"}
	doors = []string{"ingest/load", "spatial/analyse"}
	// What the commands may use besides roots, tools, doors and writers: the
	// season generator, the boat file, and the head table that needs no season.
	forCommands = []string{"ingest/boatfile", "ingest/madelake", "spatial/head"}
)

type listed struct {
	ImportPath string
	Imports    []string
}

func packages(t *testing.T) []listed {
	t.Helper()
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", "leadline/...").Output()
	if err != nil {
		t.Fatal(err)
	}
	var list []listed
	for d := json.NewDecoder(bytes.NewReader(out)); ; {
		var p listed
		if err := d.Decode(&p); errors.Is(err, io.EOF) {
			return list
		} else if err != nil {
			t.Fatal(err)
		}
		list = append(list, p)
	}
}

func TestImportsFollowThePipeline(t *testing.T) {
	list := packages(t)
	if len(list) < 15 {
		t.Fatalf("only %d packages listed", len(list))
	}
	for _, p := range list {
		from := strings.TrimPrefix(p.ImportPath, "leadline/")
		for _, path := range p.Imports {
			to, ours := strings.CutPrefix(path, "leadline/")
			if !ours {
				continue
			}
			if why := wrong(from, to); why != "" {
				t.Errorf("%s imports %s: %s", from, to, why)
			}
		}
	}
}

// wrong says why package from may not import package to; empty when it may.
func wrong(from, to string) string {
	fromStage, _, _ := strings.Cut(from, "/")
	toStage, worker, _ := strings.Cut(to, "/")
	a, b := slices.Index(stages, fromStage), slices.Index(stages, toStage)
	switch {
	case a < 0 || b < 0:
		return "not a stage of the pipeline"
	case a < b:
		return "that is a later stage"
	case worker == "" || slices.Contains(tools, to):
		return ""
	case fromStage == "cmd":
		if toStage == "export" || slices.Contains(doors, to) || slices.Contains(forCommands, to) {
			return ""
		}
		return "commands go through the door of a stage"
	case a > b:
		return "a stage sees only the root of an earlier one"
	case slices.Contains(doors, from):
		return ""
	case strings.HasPrefix(to, "export/exporttest"):
		return "that is for tests"
	}
	return "workers of one stage meet only in its door"
}

// The test of the test.
func TestWrong(t *testing.T) {
	for _, c := range []struct {
		from, to string
		ok       bool
	}{
		{"spatial/zone", "ingest", true}, {"spatial/zone", "spatial/density", true}, {"spatial/analyse", "spatial/zone", true},
		{"export/report", "export", true}, {"export/report", "spatial", true}, {"export/report", "ingest/si", true},
		{"cmd/leadline", "ingest/load", true}, {"cmd/leadline", "export/save", true},
		{"ingest/join", "spatial", false}, {"spatial/zone", "ingest/join", false}, {"spatial/zone", "spatial/drift", false},
		{"export/report", "spatial/zone", false}, {"cmd/leadline", "ingest/gpxfile", false}, {"export/report", "export/kmlfile", false},
	} {
		if why := wrong(c.from, c.to); (why == "") != c.ok {
			t.Errorf("%s imports %s: %q, want allowed: %v", c.from, c.to, why, c.ok)
		}
	}
}

// Analysis is pure computation: what it gives depends on nothing but its input.
func TestSpatialIsPure(t *testing.T) {
	impure := []string{"os", "io", "io/fs", "log", "log/slog", "net", "net/http", "path/filepath", "math/rand", "crypto/rand"}
	for _, p := range packages(t) {
		if !strings.HasPrefix(p.ImportPath, "leadline/spatial") {
			continue
		}
		for _, i := range p.Imports {
			if slices.Contains(impure, i) {
				t.Errorf("%s imports %s", p.ImportPath, i)
			}
		}
	}
}

// The same input gives the same output: no stage reads the clock.
func TestNoStageReadsTheClock(t *testing.T) {
	for _, stage := range []string{"ingest", "spatial", "export"} {
		err := filepath.WalkDir(filepath.Join("..", "..", stage), func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
				return err
			}
			text, err := os.ReadFile(path)
			if bytes.Contains(text, []byte("time.Now(")) || bytes.Contains(text, []byte("time.Since(")) {
				t.Errorf("%s reads the clock", path)
			}
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}
