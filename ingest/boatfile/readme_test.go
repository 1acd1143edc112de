package boatfile

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// The boat file that the README shows says it holds the defaults, but for the zone.
func TestREADMEShowsTheDefaults(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	_, rest, found := strings.Cut(string(text), "```toml\n")
	block, _, closed := strings.Cut(rest, "```")
	if !found || !closed {
		t.Fatal("the README shows no boat file")
	}
	got, err := Read(strings.NewReader(block), "README.md")
	if err != nil {
		t.Fatal(err)
	}
	if got.Zone == nil {
		t.Error("no zone")
	}
	got.Zone = nil
	// To nine figures: inches and millimetres differ in their last bit.
	if got, want := fmt.Sprintf("%+.9v", got), fmt.Sprintf("%+.9v", Default()); got != want {
		t.Errorf("the README's boat is\n%s\nthe default\n%s", got, want)
	}
}
