package si

import "testing"

func TestParsePosition(t *testing.T) {
	for text, want := range map[string][2]float64{
		"36.512,-40.118": {36.512, -40.118},
		" 36.5 , -40 ":   {36.5, -40},
		"-90,180":        {-90, 180},
		"0,0":            {0, 0},
		"+1.5,-0.25":     {1.5, -0.25},
	} {
		lat, lon, err := ParsePosition(text)
		if err != nil || lat != want[0] || lon != want[1] {
			t.Errorf("%q: %v, %v, %v", text, lat, lon, err)
		}
	}
	for _, text := range []string{"", "36.5", "36.5;-40", "91,0", "0,181", "NaN,0", "0,NaN", "a,b", "1,2,3", "Inf,0"} {
		if lat, lon, err := ParsePosition(text); err == nil {
			t.Errorf("%q: %v, %v taken", text, lat, lon)
		}
	}
}
