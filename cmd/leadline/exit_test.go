package main

import (
	"bytes"
	"path/filepath"
	"strings"
	"testing"
)

var lanternHollow = filepath.Join("..", "..", "testdata", "trips", "lantern-hollow")

// The exit statuses that other programs rely on.
func TestExitStatus(t *testing.T) {
	boat := "--boat=" + filepath.Join(lanternHollow, "boat.toml")
	for _, c := range []struct {
		name string
		args []string
		want int
	}{
		{"done", []string{"heads", "--depth", "20ft", "--speed", "0.5mph"}, exitDone},
		{"help", []string{"zones", "--help"}, exitDone},
		{"no verb shows the help", nil, exitDone},
		{"rows set aside are no failure", []string{"zones", lanternHollow, boat, "--json", "--simulations=19"}, exitDone},
		{"file not there", []string{"zones", "nowhere.gpx", "--json"}, exitFailed},
		{"boat file not there", []string{"heads", "--depth=20ft", "--speed=0.5mph", "--boat=nowhere.toml"}, exitFailed},
		{"unknown verb", []string{"fly"}, exitUsage},
		{"unknown flag", []string{"zones", "--wings"}, exitUsage},
		{"no unit", []string{"heads", "--depth", "20", "--speed", "0.5mph"}, exitUsage},
		{"no files", []string{"check"}, exitUsage},
		{"no files and no logbook", []string{"zones", "-o", "out", "--logbook", "nowhere.gpkg"}, exitFailed},
		{"too few simulations", []string{"zones", lanternHollow, "--json", "--simulations=5"}, exitUsage},
		{"check finds rows set aside", []string{"check", lanternHollow, boat}, exitSetAside},
		{"check finds none", []string{"check", filepath.Join(lanternHollow, "2031-10-04-track.gpx")}, exitDone},
	} {
		t.Run(c.name, func(t *testing.T) {
			var out, errOut bytes.Buffer
			if got := run(c.args, &out, &errOut); got != c.want {
				t.Errorf("exit %d, want %d; standard error:\n%s", got, c.want, errOut.String())
			}
			if failed := c.want == exitFailed || c.want == exitUsage; failed {
				if out.Len() > 0 {
					t.Errorf("a failed run printed a result:\n%s", out.String())
				}
				for line := range strings.Lines(errOut.String()) {
					if !strings.HasPrefix(line, "leadline: ") {
						t.Errorf("standard error has the line %q", line)
					}
				}
			}
		})
	}
}
