package main

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"leadline": main})
}

// The scripts are the specification of the command as it is typed: one behaviour
// each. $TRIPS is the folder of the seasons kept as files.
func TestScripts(t *testing.T) {
	trips, err := filepath.Abs(filepath.Join("..", "..", "testdata", "trips"))
	if err != nil {
		t.Fatal(err)
	}
	testscript.Run(t, testscript.Params{
		Dir:                 filepath.Join("testdata", "script"),
		UpdateScripts:       os.Getenv("UPDATE") == "1",
		RequireExplicitExec: true,
		Condition: func(cond string) (bool, error) {
			if cond == "race" {
				return underRaceDetector, nil
			}
			return false, fmt.Errorf("unknown condition %q", cond)
		},
		Setup: func(e *testscript.Env) error {
			e.Setenv("TRIPS", trips)
			return nil
		},
	})
}
