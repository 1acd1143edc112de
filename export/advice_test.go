package export

import (
	"strings"
	"testing"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

func TestAdvice(t *testing.T) {
	speed := ingest.Known(0.2)
	picked := spatial.HeadChoice{DepthM: ingest.Known(6), SpeedMPS: speed, Picked: true, Trials: []spatial.HeadTrial{headOf(0.25, 15, 8, 40)}}
	picked.Trials[0].Line.Name = "8 lb nylon"
	with := func(c spatial.HeadChoice, change func(*spatial.HeadChoice)) spatial.HeadChoice {
		change(&c)
		return c
	}
	current := spatial.Leeway{OK: true, CurrentMPS: ingest.Known(0.1), CurrentTowardDeg: ingest.Known(90)}
	mayBeNone := current
	mayBeNone.CurrentTowardDeg = ingest.Maybe{}
	const either = "Thin, rocking head in open still water, round and steady in current"
	for _, c := range []struct {
		name   string
		head   spatial.HeadChoice
		leeway spatial.Leeway
		what   string
		why    string
		lines  int
	}{
		{"firm pick", picked, spatial.Leeway{}, either, "1/4 oz has weight to spare for this drift", 4},
		{"current", picked, current, "Round, steady head", "a current of 0.22 mph runs", 4},
		{"current that may be none", picked, mayBeNone, either, "1/4 oz has weight to spare for this drift", 4},
		{"current taken off", with(picked, func(c *spatial.HeadChoice) { c.CurrentMPS = ingest.Known(0.05) }), spatial.Leeway{}, "Round, steady head", "a current of 0.11 mph runs", 4},
		{"close", with(picked, func(c *spatial.HeadChoice) { c.Close = true }), spatial.Leeway{}, "Round, steady head", "1/4 oz is light for this drift", 4},
		{"a little more drift wants more", with(picked, func(c *spatial.HeadChoice) { c.Stand.HeavierFromMPS = ingest.Known(0.22) }), spatial.Leeway{}, "Round, steady head", "1/4 oz is light for this drift", 4},
		{"only much more drift does", with(picked, func(c *spatial.HeadChoice) { c.Stand.HeavierFromMPS = ingest.Known(0.3) }), spatial.Leeway{}, either, "1/4 oz has weight to spare for this drift", 4},
		{"none will do", with(picked, func(c *spatial.HeadChoice) { c.Picked = false }), spatial.Leeway{}, "Round, steady head", "every head of the box is light for this drift", 3},
		{"nothing known", spatial.HeadChoice{Missing: []string{"drift speed"}}, spatial.Leeway{}, either, "a steady head stays down where the water pulls at it", 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := Advice(spatial.Zone{Head: c.head}, c.leeway, si.US)
			if len(got) != c.lines || got[0] != (AdviceLine{c.what, c.why}) {
				t.Errorf("%d lines, first %+v", len(got), got[0])
			}
			for _, l := range got {
				if l.What == "" || l.Why == "" || strings.HasSuffix(l.Why, ".") {
					t.Errorf("line %+v", l)
				}
			}
			if c.lines == 4 && got[3].What != "8 lb nylon for 1/4 oz" {
				t.Errorf("line %+v", got[3])
			}
		})
	}
}
