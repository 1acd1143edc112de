package backsheet

import (
	"fmt"
	"math"
	"strconv"

	"leadline/export"
	"leadline/spatial"
)

// Both drawings are in units of their own, of which a phone shows about three quarters of a
// pixel and a desktop one and a third: type of 14 stays readable on either.
const (
	liftWidth  = 460.0
	liftHeight = 300.0
	liftLeft   = 66.0  // of the plot
	liftLast   = 410.0 // of the last day; its figure stands right of it
	liftRight  = 452.0
	liftTop    = 12.0
	liftFoot   = 252.0

	sureWidth  = 320.0
	sureHeight = 300.0
	sureLeft   = 66.0
	sureRight  = 310.0
	sureTop    = 12.0
	sureFoot   = 252.0
)

// The least and the most that the lift's axis reaches to, as powers of two. Farther ends
// become arrows: what is between 0 and an eighth is bad alike.
const (
	leastPower = -3
	mostPower  = 5
)

// A liftChart is the lift by days of record: numbers are text in its units.
type liftChart struct {
	Label, About     string
	Width, Height    string
	X, Y, Wide, High string // the plot
	Even             string // path
	AxisX, AxisXAt   string // of the axis' name
	AxisY, AxisYAt   string // of the other's
	FootAt           string // of the numbers under the plot
	Lines            []tick // of the lift
	Days             []tick
	Points           []point
	Rows             []liftRow
	Hollow           bool
	Arrows           bool

	before struct{ x, y, wide float64 } // of the point drawn last and of its figure
}

type tick struct {
	D, At, Text string
	Even        bool
}

type point struct {
	X, Y   string
	Reach  string // path over the days it stands for
	Bar    string // path of the interval; empty for none
	Arrows string // path of those at its ends
	Value  string
	At     string // x of the value
	ValueY string
	Title  string
}

type liftRow struct{ Known, Days, Lift, Range string }

func num(v float64) string { return strconv.FormatFloat(math.Round(10*v)/10, 'f', -1, 64) }

func line(x1, y1, x2, y2 float64) string {
	return "M" + num(x1) + " " + num(y1) + "L" + num(x2) + " " + num(y2)
}

// newLift draws the bins, or returns nil when no lift is known.
func newLift(t spatial.Backtest) *liftChart {
	var bins []spatial.LiftBin
	most := 1
	for _, k := range t.Earlier.ByKnown {
		if k.Lift.OK && shown(k.Lift.Value) && (!k.Lift.Bounded || shown(k.Lift.Low) && shown(k.Lift.High)) {
			bins = append(bins, k)
			most = max(most, k.To)
		}
	}
	if len(bins) == 0 {
		return nil
	}
	low, high := powers(bins)
	step := dayStep(most)
	last := (most + step - 1) / step * step
	x := func(days float64) float64 { return liftLeft + (liftLast-liftLeft)*days/float64(last) }
	y := func(lift float64) float64 {
		p := min(float64(high), max(float64(low), math.Log2(lift)))
		return liftFoot - (liftFoot-liftTop)*(p-float64(low))/float64(high-low)
	}
	c := &liftChart{
		Label: "Lift by days in the logbook", Width: num(liftWidth), Height: num(liftHeight),
		X: num(liftLeft), Y: num(liftTop), Wide: num(liftRight - liftLeft), High: num(liftFoot - liftTop),
		Even:  line(liftLeft, y(1), liftRight, y(1)),
		AxisX: num((liftLeft + liftRight) / 2), AxisXAt: num(liftHeight - 6), AxisY: num((liftTop + liftFoot) / 2), AxisYAt: "14",
		FootAt: num(liftFoot + 19),
	}
	for p := low; p <= high; p++ {
		v := math.Exp2(float64(p))
		c.Lines = append(c.Lines, tick{D: line(liftLeft, y(v), liftRight, y(v)), At: num(y(v) + 5), Text: strconv.FormatFloat(v, 'f', -1, 64), Even: p == 0})
	}
	for d := 0; d <= last; d += step {
		c.Days = append(c.Days, tick{D: line(x(float64(d)), liftFoot, x(float64(d)), liftFoot+5), At: num(x(float64(d))), Text: strconv.Itoa(d)})
	}
	for _, k := range bins {
		c.add(t, k, x, y, math.Exp2(float64(low)), math.Exp2(float64(high)))
	}
	return c
}

// add draws one bin; what lies beyond low or high stands at the edge with an arrow.
func (c *liftChart) add(t spatial.Backtest, k spatial.LiftBin, x, y func(float64) float64, low, high float64) {
	e := k.Lift
	figure := export.BacktestLift(t, e)
	mid := x(float64(k.From+k.To) / 2)
	p := point{
		X: num(mid), Y: num(y(e.Value)), Reach: line(x(float64(k.From)), y(e.Value), x(float64(k.To)), y(e.Value)), Value: figure.Value,
		At: num(mid + 9),
	}
	// A figure stands on the side of its line that is away from 1, and on the other where it
	// would run into the one before or out of the plot.
	above, below := y(e.Value)-7, y(e.Value)+19
	at, other := above, below
	if e.Value < 1 {
		at, other = below, above
	}
	runsInto := len(c.Points) > 0 && mid-c.before.x < c.before.wide && math.Abs(at-c.before.y) < 18
	if runsInto || at < liftTop+14 || at > liftFoot-4 {
		at = other
	}
	c.before.wide = 12 * float64(len(p.Value))
	c.before.x, c.before.y = mid, at
	p.ValueY = num(at)
	arrow := func(v float64) {
		switch {
		case v < low:
			p.Arrows += fmt.Sprintf("M%s %sl5 8l5 -8Z", num(mid-5), num(liftFoot-8))
		case v > high:
			p.Arrows += fmt.Sprintf("M%s %sl5 -8l5 8Z", num(mid-5), num(liftTop+8))
		}
	}
	row := liftRow{Known: export.BacktestKnownWords(k), Days: export.Plural(k.Days, noun(t)), Lift: figure.Value}
	if e.Bounded {
		p.Bar = line(mid, y(e.Low), mid, y(e.High))
		if e.Low >= low {
			p.Bar += line(mid-5, y(e.Low), mid+5, y(e.Low))
		}
		if e.High <= high {
			p.Bar += line(mid-5, y(e.High), mid+5, y(e.High))
		}
		arrow(e.Low)
		arrow(e.High)
		row.Range = figure.Range
		p.Title = fmt.Sprintf("%s known: lift %s, interval %s, %s", row.Known, figure.Value, figure.Range, row.Days)
	} else {
		arrow(e.Value)
		row.Range = "none: " + figure.Why
		p.Title = fmt.Sprintf("%s known: lift %s without an interval, %s", row.Known, figure.Value, row.Days)
		c.Hollow = true
	}
	c.Arrows = c.Arrows || p.Arrows != ""
	c.About += p.Title + ". "
	c.Points, c.Rows = append(c.Points, p), append(c.Rows, row)
}

// powers are those of two between which all that is shown lies, half to twice at least.
func powers(bins []spatial.LiftBin) (low, high int) {
	low, high = -1, 1
	for _, k := range bins {
		ends := []float64{k.Lift.Value}
		if k.Lift.Bounded {
			ends = append(ends, k.Lift.Low, k.Lift.High)
		}
		for _, v := range ends {
			p := math.Log2(v) // of 0 minus infinity
			low = int(max(leastPower, min(float64(low), math.Floor(p))))
			high = int(min(mostPower, max(float64(high), math.Ceil(p))))
		}
	}
	return low, high
}

// dayStep is how far apart the days on the axis are: about six numbers.
func dayStep(most int) int {
	step := 1
	for _, s := range []int{1, 2, 5, 10, 20, 50, 100, 200, 500, 1000} {
		if step = s; most <= 7*s {
			break
		}
	}
	return step
}

// A sureChart is the histogram of where what came lay within what was promised.
type sureChart struct {
	Label, About     string
	Width, Height    string
	X, Y, Wide, High string
	Even             string
	FootAt, LastAt   string
	Left, Mid, Right string // x of the words under it
	AxisY            string
	Bars             []sureBar
	Lines            []tick
}

type sureBar struct{ X, Y, Wide, High, Title string }

// newSure returns nil when nothing was promised.
func newSure(t spatial.Backtest) *sureChart {
	shares := t.Earlier.PIT
	if len(shares) == 0 {
		return nil
	}
	even, most := 1/float64(len(shares)), 0.0
	for _, v := range shares {
		if !shown(v) {
			return nil
		}
		most = max(most, v)
	}
	step := 0.05
	for _, s := range []float64{0.05, 0.1, 0.2} {
		if step = s; most <= 5*s {
			break
		}
	}
	top := math.Max(2*even, step*math.Ceil(most/step-1e-9))
	y := func(v float64) float64 { return sureFoot - (sureFoot-sureTop)*min(1, max(0, v/top)) }
	c := &sureChart{
		Label: "Where what came lay in what was promised", Width: num(sureWidth), Height: num(sureHeight),
		X: num(sureLeft), Y: num(sureTop), Wide: num(sureRight - sureLeft), High: num(sureFoot - sureTop),
		Even: line(sureLeft, y(even), sureRight, y(even)), FootAt: num(sureFoot + 19), LastAt: num(sureHeight - 6),
		Left: num(sureLeft), Mid: num((sureLeft + sureRight) / 2), Right: num(sureRight), AxisY: num((sureTop + sureFoot) / 2),
	}
	for v := 0.0; v <= top+1e-9; v += step {
		c.Lines = append(c.Lines, tick{D: line(sureLeft, y(v), sureRight, y(v)), At: num(y(v) + 5), Text: percent(v)})
	}
	wide := (sureRight - sureLeft) / float64(len(shares))
	for i, v := range shares {
		c.Bars = append(c.Bars, sureBar{num(sureLeft + float64(i)*wide + 1.5), num(y(v)), num(wide - 3), num(sureFoot - y(v)), percent(v)})
		if i > 0 {
			c.About += ", "
		}
		c.About += percent(v)
	}
	c.About = "From less than promised to more: " + c.About + "; even is " + percent(even) + "."
	return c
}

func percent(v float64) string { return strconv.FormatFloat(100*v, 'f', 0, 64) + " %" }

// shown says whether a figure can be drawn.
func shown(v float64) bool { return v >= 0 && !math.IsInf(v, 1) }
