package backsheet

import (
	"html/template"
	"math"
	"slices"
	"strconv"
	"strings"

	"leadline/export"
	"leadline/ingest/si"
	"leadline/spatial"
)

// A content is the page as the template wants it: text in the person's units.
type content struct {
	Title, Name string
	Style       template.CSS
	Policy      string

	Class, Tag     string // of the verdict
	Claim, Verdict string
	Basis          []string
	Remarks        []string
	Lift           *liftChart
	Rise           string
	Noun           string
	Sure           *sureChart
	NotSure        string // why there is none
	Says           []string
	Others         string
	Figures        []figureRow
	Reasons        []reason
	Days           []dayRow
	Bold           bool // one of Days is
	Tuning         []string
	Tried          []triedRow
	Method         []string
	Cautions       []string
}

type figureRow struct {
	Name, Means     string
	Earlier, Others cell
}

// A cell is a figure with its interval and the days that tell of it, or a mark for the reason
// that there is none.
type cell struct{ Value, Range, Rests, Mark string }

// A reason is said once under the table.
type reason struct{ Mark, Text string }

type dayRow struct {
	Day, Hours, Events         string
	Known, Zones               string // empty: nothing foretold it
	EventsIn, HoursIn, WaterIn string
	Promised, Given            string
	Rich                       bool // more of the events inside than of the hours
}

type triedRow struct {
	Cast, Events, Likelier, Chosen string
	Usual, Next                    bool
}

const none = "–"

func noun(t spatial.Backtest) string {
	if t.ByWeek {
		return "week"
	}
	return "day"
}

func build(t spatial.Backtest, opt export.Options) *content {
	s := &content{
		Title: "Backtest", Name: opt.Title, Noun: noun(t), Basis: export.BacktestBasis(t), Lift: newLift(t), Rise: export.BacktestRise(t),
		Sure: newSure(t), Says: export.BacktestSays(t), Others: export.BacktestOthersWords(t), Tuning: export.BacktestTuningWords(t, opt.Units),
		Method: method(t), Cautions: export.BacktestCautions(),
	}
	s.Claim, s.Verdict = export.BacktestHeadline(t)
	s.NotSure = "No visit to a zone was promised anything yet."
	if !t.Earlier.Coverage.Bounded && s.Sure != nil {
		s.NotSure = "Too few visits yet to tell: " + export.BacktestLift(t, t.Earlier.Coverage).Why + "."
		s.Sure = nil
	}
	s.Class, s.Tag = verdict(t)
	for _, r := range t.Remarks {
		s.Remarks = append(s.Remarks, r.Text)
	}
	if t.Earlier.Days+t.Others.Days > 0 {
		s.figures(t)
	}
	for _, o := range t.Units {
		row := newDay(o, t.LakeM2)
		s.Bold = s.Bold || row.Rich
		s.Days = append(s.Days, row)
	}
	if t.Tuning != nil {
		s.Tried = tried(*t.Tuning, s.Noun, opt.Units)
	}
	s.keepTogether()
	return s
}

// keepTogether lets no line end between a number and its percent sign.
func (s *content) keepTogether() {
	hold := func(words *string) { *words = strings.ReplaceAll(*words, " %", "\u00a0%") }
	hold(&s.Claim)
	hold(&s.Others)
	for _, list := range [][]string{s.Basis, s.Says} {
		for i := range list {
			hold(&list[i])
		}
	}
}

// figures fills the table of all figures.
func (s *content) figures(t spatial.Backtest) {
	cellOf := func(f export.BacktestFigure) cell {
		c := cell{Value: f.Value, Range: f.Range}
		if f.Range != "" {
			c.Rests = "from " + export.Plural(f.Days, s.Noun)
			return c
		}
		k := slices.IndexFunc(s.Reasons, func(r reason) bool { return r.Text == f.Why })
		if k < 0 {
			k = len(s.Reasons)
			s.Reasons = append(s.Reasons, reason{strconv.Itoa(k + 1), f.Why})
		}
		c.Mark = s.Reasons[k].Mark
		return c
	}
	others := export.BacktestFigures(t, t.Others)
	for i, f := range export.BacktestFigures(t, t.Earlier) {
		s.Figures = append(s.Figures, figureRow{f.Name, f.Means, cellOf(f), cellOf(others[i])})
	}
}

// verdict returns the class and the words of the tag over the headline.
func verdict(t spatial.Backtest) (class, tag string) {
	switch t.Earlier.Lift.Against(1) {
	case spatial.Better:
		return "better", "Better than fishing anywhere"
	case spatial.Worse:
		return "worse", "Worse than fishing anywhere"
	case spatial.NoBetter:
		return "even", "May be chance"
	}
	return "few", "Too few " + noun(t) + "s"
}

func newDay(o spatial.LeftOut, lakeM2 float64) dayRow {
	row := dayRow{Day: o.From, Hours: none, Events: count(o.Events)}
	if h := export.Round(o.Hours, 1); h.OK {
		row.Hours = export.Hours(h.V)
	}
	if o.To != o.From {
		row.Day += " to " + o.To
	}
	t := o.Earlier
	if t == nil {
		return row
	}
	row.Known, row.Zones = export.Count(t.Known), export.Count(t.Zones)
	row.EventsIn, row.HoursIn, row.WaterIn = part(t.EventsIn, o.Events), part(t.HoursIn, o.Hours), part(t.AreaInM2, lakeM2)
	row.Promised, row.Given = promised(t.Promised), count(t.Given)
	row.Rich = t.HoursIn > 0 && t.EventsIn*o.Hours > t.HoursIn*o.Events
	return row
}

// part prints a share in percent, to a tenth when it is small: none of nothing is no share.
func part(in, all float64) string {
	v := 100 * in / all
	switch {
	case !(all > 0) || math.IsNaN(v) || math.IsInf(v, 0):
		return none
	case v > 0 && v < 9.95:
		return strconv.FormatFloat(v, 'f', 1, 64) + " %"
	}
	return strconv.FormatFloat(v, 'f', 0, 64) + " %"
}

// promised prints events promised, which are whole by accident only.
func promised(v float64) string {
	if r := export.Round(v, 1); r.OK {
		return strconv.FormatFloat(r.V, 'f', 1, 64)
	}
	return none
}

// count prints events, which may weigh parts of one.
func count(v float64) string {
	r := export.Round(v, 1)
	if !r.OK {
		return none
	}
	return strconv.FormatFloat(r.V, 'f', -1, 64)
}

func tried(t spatial.Tuning, noun string, u si.System) (out []triedRow) {
	for i, a := range t.Tried {
		cast, likelier := none, none
		if m := export.Round(a.CastM, 2); m.OK {
			cast = u.Depth(m.V)
		}
		if r := export.Round(math.Exp(a.PerEvent), 2); r.OK {
			likelier = strconv.FormatFloat(r.V, 'f', 2, 64)
		}
		out = append(out, triedRow{
			Cast: cast, Events: export.Count(a.MinEvents), Likelier: likelier,
			Chosen: export.Plural(a.Chosen, noun), Usual: a.Usual, Next: i == t.Next,
		})
	}
	return out
}

func method(t spatial.Backtest) []string {
	n := noun(t)
	return []string{
		"Each " + n + " is left out in turn: zones, hours and depths are found anew from the days before it alone, then held against what came.",
		"The lift is the events inside over those that would have come inside had each " + n + "'s events fallen evenly on its hours of fishing.",
		"So neither a good " + n + " nor more hours inside pass for good water.",
		"Likelihoods are those of what came under a rate for each zone, hour and depth, against one rate everywhere and against the last trip's catches.",
		"Intervals come from drawing whole " + n + "s anew many times, since what bites in one comes together; from a few " + n + "s there is none.",
		"A second figure lets each be foretold by later " + n + "s, too; it is no promise, since nobody has those beforehand.",
	}
}
