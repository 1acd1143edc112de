package si

import "testing"

func TestParseCompass(t *testing.T) {
	for _, tt := range []struct {
		in   string
		want float64
		bad  bool
	}{
		{"N", 0, false}, {"nw", 315, false}, {" SSW ", 202.5, false}, {"315", 315, false}, {"22.5°", 22.5, false}, {"90deg", 90, false}, {"360", 0, false},
		{"", 0, true}, {"north", 0, true}, {"-10", 0, true}, {"361", 0, true}, {"NaN", 0, true}, {"1e400", 0, true}, {"NWN", 0, true},
	} {
		got, err := ParseCompass(tt.in)
		if (err != nil) != tt.bad || got != tt.want {
			t.Errorf("%q: %v, %v", tt.in, got, err)
		}
	}
	for deg := 0.0; deg < 360; deg += 22.5 { // a word and its direction
		if got, err := ParseCompass(Compass(deg)); err != nil || got != deg {
			t.Errorf("%s is %v, %v", Compass(deg), got, err)
		}
	}
}
