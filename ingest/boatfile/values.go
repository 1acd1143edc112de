package boatfile

import (
	"fmt"
	"strings"
	"time"

	"leadline/ingest/si"
)

// measure is a quantity that a key takes, with its limits in SI. They are wider
// than any boat's: they catch a slip of the unit.
type measure struct {
	of          *si.Quantity
	least, most float64
	limits      string // for messages
}

var (
	transducerDepth = measure{si.Length, 0, 10, "0ft to 32ft"}
	waterLevel      = measure{si.Length, -500, 10000, "-1600ft to 32000ft"}
	soundSpeed      = measure{si.Speed, 1300, 1600, "1300m/s to 1600m/s"}
	castLength      = measure{si.Length, 1, 150, "1m to 150m"}
	headMass        = measure{si.Mass, 0.0001, 1, "0.1g to 1kg"}
	sinkTime        = measure{si.Duration, 1, 600, "1s to 10min"}
	waterTemp       = measure{si.Temperature, 0, 40, "32F to 104F"}
	lineDiameter    = measure{si.Length, 0.00003, 0.003, "0.03mm to 3mm"}
	trailerLength   = measure{si.Length, 0.005, 0.6, "0.2in to 23in"}
	leaderLength    = measure{si.Length, 0.05, 30, "2in to 98ft"}
	countedDepth    = measure{si.Length, 0.5, 100, "2ft to 328ft"}
	countedTime     = measure{si.Duration, 0.5, 600, "0.5s to 10min"}
	reelSpeed       = measure{si.Speed, 0.05, 5, "0.05m/s to 5m/s"}
	runSpeed        = measure{si.Speed, 1, 45, "1m/s to 45m/s"}
	idleSpeed       = measure{si.Speed, 0.5, 10, "0.5m/s to 10m/s"}
	boatDraft       = measure{si.Length, 0.05, 5, "2in to 16ft"}
	waterMargin     = measure{si.Length, 0, 10, "0ft to 32ft"}
	handTime        = measure{si.Duration, 0, 1800, "0s to 30min"}
)

// read returns the SI value of text such as "1.5ft".
func (m measure) read(v any) (float64, error) {
	x, err := m.of.Parse(fmt.Sprint(v))
	if err != nil {
		return 0, err
	}
	// Limits typed in another unit must not fail by their last bit.
	if slack := 1e-9 * m.most; x < m.least-slack || x > m.most+slack {
		return 0, fmt.Errorf("%q is out of range, wanted %s", v, m.limits)
	}
	return x, nil
}

// degrees reads a plain number: its key says the unit.
func degrees(v any) (float64, error) {
	var d float64
	switch v := v.(type) {
	case int64:
		d = float64(v)
	case float64:
		d = v
	default:
		return 0, fmt.Errorf("%q is not a number, wanted degrees from vertical such as 45", fmt.Sprint(v))
	}
	if !(d >= 1 && d <= 89) {
		return 0, fmt.Errorf("%v is out of range, wanted 1 to 89", v)
	}
	return d, nil
}

// zone reads a name of the time zone database. The machine's own zone is not
// taken: the same files must give the same result elsewhere.
func zone(v any) (*time.Location, error) {
	name, _ := v.(string)
	loc, err := time.LoadLocation(name)
	if err != nil || name == "" || name == "Local" {
		return nil, fmt.Errorf("%q is not a time zone, wanted UTC or a name of the time zone database, such as Area/City", fmt.Sprint(v))
	}
	return loc, nil
}

// choice finds a word in a list and returns its place.
func choice(v any, words []string) (int, error) {
	for i, w := range words {
		if v == w {
			return i, nil
		}
	}
	return 0, fmt.Errorf("%q is not a known word, wanted %s", fmt.Sprint(v), strings.Join(words, ", "))
}

var (
	systemNames     = []string{"us", "metric"}
	metalNames      = []string{"lead", "tungsten", "bismuth"}
	metalKgM3       = []float64{leadKgM3, tungstenKgM3, bismuthKgM3}
	materialNames   = []string{"fluorocarbon", "nylon", "braid"}
	materialKgM3    = []float64{fluorocarbonKgM3, nylonKgM3, braidKgM3}
	topKeys         = []string{"tz", "units", "transducer_depth", "sounder_speed", "pool", "levels", "columns", "cast", "heads", "metal", "max_sink", "max_angle_deg", "water_temp", "reel", "reel_up", "unhook", "launch", "take_out", "run", "idle", "draft", "margin", "line", "trailer", "countdown"}
	lineKeys        = []string{"up_to", "name", "diameter", "material", "leader_length", "leader_diameter", "leader_material", "leader_name"}
	trailerKeys     = []string{"up_to", "length"}
	countdownKeys   = []string{"head", "metal", "trailer", "depth", "time"}
	exampleDiameter = `"0.23mm"`
	exampleLength   = `"2.8in"`
)
