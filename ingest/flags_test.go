package ingest

import (
	"fmt"
	"testing"
)

func TestFlagNames(t *testing.T) {
	for _, c := range []struct {
		name string
		got  []string
		want string
	}{
		{"sound fix", FixFlag(0).Names(), "[]"},
		{"one", FixBackwards.Names(), "[time runs backwards]"},
		{"several in the order of the constants", (FixJump | FixNoTime | FixZeroIsland).Names(), "[no time at 0,0 impossible jump]"},
		{"repeated", FixRepeated.Names(), "[repeated time]"},
		{"sound sounding", SoundingFlag(0).Names(), "[]"},
		{"one of a sounding", SoundingDouble.Names(), "[double echo]"},
		{"several of a sounding", (SoundingTooDeep | SoundingNoBottom | SoundingSpike).Names(), "[no bottom spike beyond any lake's depth]"},
	} {
		if got := fmt.Sprint(c.got); got != c.want {
			t.Errorf("%s: got %s, want %s", c.name, got, c.want)
		}
	}
}

// All flags of a kind together give every word once.
func TestAllFlagNames(t *testing.T) {
	if got := FixFlag(1<<len(fixFlags) - 1).Names(); fmt.Sprint(got) != fmt.Sprint(fixFlags) {
		t.Error(got)
	}
	if got := SoundingFlag(1<<len(soundingFlags) - 1).Names(); fmt.Sprint(got) != fmt.Sprint(soundingFlags) {
		t.Error(got)
	}
}
