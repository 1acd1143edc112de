package report

import (
	"fmt"
	"html/template"
	"slices"
	"sort"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"leadline/export"
	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// firstFew is how many rows of a long list are shown; result.json has them all.
const firstFew = 10

// A content is the page as the template wants it: text in the person's units.
type content struct {
	Title, Headline, Basis, Level string
	Style                         template.CSS
	Policy                        string
	Figure                        template.HTML // the map: a picture that goes by itself, and what scripts put in its place
	MapStyle                      template.CSS
	MapData                       template.JS
	Scripts                       []template.JS

	Map      *picture
	Legend   []legendStep
	MapEmpty string
	Kinds    []string // of event, in the order of the legend
	Tracks   []legendStep
	Unsure   string // what the hatched water is; empty when there is none
	MapNote  string

	Zones, Unproven []card
	ZonesEmpty      string
	UnprovenEmpty   string

	Drifts      []driftRow
	Profiles    []driftProfile
	DriftsEmpty string
	NoProfiles  string // of those not drawn

	Wind windSection

	Bands      *bars // by depth of the bottom; nil when there are none
	BandsEmpty string
	Fish       *bars // by depth of the fish
	FishEmpty  string
	Stand      string

	Hours, SunHours             *bars
	HoursEmpty                  string
	HoursWindow, SunHoursWindow string

	Bottom      bottomSection
	BottomEmpty string

	Days daysSection

	Files         []fileRow
	FilesEmpty    string
	Problems      []problemRow
	ProblemsMore  string
	ProblemsEmpty string
	Unplaced      []unplacedRow
	Tallies       []string
	UnplacedMore  string
	UnplacedEmpty string

	Remarks  []spatial.Remark
	Cautions []string
}

type legendStep struct{ Class, Text string }

type card struct {
	ID, Title   string
	Proven      bool
	Picture     *picture
	Head        string // "3/8 oz"; empty when none was picked
	NoHead      string // why not, in two or three words
	Key         []export.Fact
	Facts       []export.Fact
	Why         []string
	Caution     string
	Heads       *headsPicture
	Trials      []trialRow
	TrialsAbout string
	AdviceHead  string
	Advice      []export.AdviceLine
}

type fileRow struct {
	Name, TakenFor, Columns, Unused, Rows, Used, Repaired, SetAside, Flagged, Clock string
}

type problemRow struct{ Place, Reason, Outcome string }

type unplacedRow struct{ What, Place, Time, Reason string }

func build(in export.Findings, opt export.Options) *content {
	c, u := in.Chart, opt.Units
	p := &content{Title: opt.Heading(), Cautions: export.Cautions(u), Remarks: c.Remarks}
	soundings := 0
	for _, d := range c.Days {
		soundings += d.Soundings
	}
	var proven, unproven []int
	for i, z := range c.Zones {
		if z.Proven {
			proven = append(proven, i)
		} else {
			unproven = append(unproven, i)
		}
	}
	p.Headline = headline(c, len(proven), len(unproven), u)
	p.Basis = basis(c)
	if c.LevelM.OK {
		p.Level = "Depths are at a water level of " + level(c.LevelM.V, u) + "."
	}

	d, drawn := newDrawing(c, u)
	if drawn {
		p.Map = d.whole()
	} else {
		p.MapEmpty = "There is no map: nothing that was read has a position."
	}
	for i, a := range c.Areas {
		p.Legend = append(p.Legend, legendStep{depthClass(i), bare(u.Depth(a.TopM)) + "–" + u.Depth(a.BottomM)})
	}
	if len(c.Bottom.Unsure) > 0 {
		p.Unsure = "may be off by more than " + export.FineDepth(c.Bottom.UnsureM, u)
	}
	p.Tracks = trackLegend(p.Map)
	switch _, unit, _ := strings.Cut(u.Depth(1), " "); {
	case len(c.Contours) > 0:
		p.MapNote = "Numbers on the contours are depths in " + unit + ". Not for navigation."
	case soundings == 0:
		p.MapNote = "The bottom is not drawn: no sounding was read. Not for navigation."
	default:
		p.MapNote = "Not for navigation."
	}
	for k := ingest.Catch; k <= ingest.Bait; k++ {
		if slices.ContainsFunc(c.Events, func(e spatial.EventMark) bool { return e.Kind == k }) {
			p.Kinds = append(p.Kinds, k.String())
		}
	}

	for _, i := range proven {
		p.Zones = append(p.Zones, zoneCard(in, d, i, u))
	}
	for _, i := range unproven {
		p.Unproven = append(p.Unproven, zoneCard(in, d, i, u))
	}
	events := len(c.Events)
	switch {
	case len(p.Zones) > 0:
	case events == 0:
		p.ZonesEmpty = "There are no zones: no catch, bite or mark could be placed on the water."
	case len(p.Unproven) > 0:
		p.ZonesEmpty = "No zone is proven yet. The places below may be luck; more days will tell."
	default:
		p.ZonesEmpty = fmt.Sprintf("There are no zones: the %s placed so far lie no closer together than even fishing explains.", export.Plural(events, "event"))
	}
	if len(p.Unproven) == 0 && events > 0 {
		p.UnprovenEmpty = "No other place stands out."
	}

	p.drifts(c, u)
	p.wind(c, u)
	p.bands(c, soundings, u)
	p.hours(c)
	p.bottom(c, u)
	p.days(c, in.Settings, u)
	p.read(in)
	return p
}

func headline(c spatial.Chart, proven, unproven int, u si.System) string {
	if proven == 0 {
		switch {
		case len(c.Events) == 0:
			return "No zones: nothing caught or seen could be placed."
		case unproven > 0:
			verb := "stands"
			if unproven > 1 {
				verb = "stand"
			}
			return fmt.Sprintf("No proven zone yet. %s %s out, but may be luck.", export.Plural(unproven, "place"), verb)
		}
		return "No zones: the events lie no closer together than even fishing explains."
	}
	i := slices.IndexFunc(c.Zones, func(z spatial.Zone) bool { return z.Proven })
	best := c.Zones[i]
	s := export.Plural(proven, "proven zone") + ". Best is " + strings.Replace(export.ZoneName(best, u), ": ", ", ", 1)
	if best.Rate.OK {
		s += ": " + export.PerHour(best.Rate.PerH) + " an hour"
		if c.LakeRate.OK {
			s += ", where all fishing gave " + export.PerHour(c.LakeRate.PerH)
		}
	}
	return s + "."
}

func basis(c spatial.Chart) string {
	if len(c.Days) == 0 {
		return "No day of fishing was read."
	}
	var fishingH float64
	var events, soundings int
	for _, d := range c.Days {
		fishingH += d.FishingH
		events += d.Events
		soundings += d.Soundings
	}
	span := c.Days[0].Date
	if last := c.Days[len(c.Days)-1].Date; last != span {
		span += " to " + last
	}
	return fmt.Sprintf("From %s, %s: %s of fishing, %s, %s. Clock times are %s.",
		export.Plural(len(c.Days), "day"), span, hours(fishingH), export.Plural(events, "event"),
		export.Plural(soundings, "sounding"), export.Clock(c.Zone))
}

func zoneCard(in export.Findings, d *drawing, i int, u si.System) card {
	z := in.Chart.Zones[i]
	k := card{
		ID: z.ID, Title: title(z, u), Proven: z.Proven,
		Picture: d.inset(i), Why: strings.Split(export.HeadWhy(z.Head, u), "\n"),
	}
	if t, ok := z.Head.Chosen(); ok {
		k.Head = u.Mass(t.Head.MassKg)
		k.Key = append(k.Key, export.Fact{Label: "Count down", Value: seconds(t.SinkS)})
		if t.LineOutM.OK {
			k.Key = append(k.Key, export.Fact{Label: "Line out", Value: u.Depth(t.LineOutM.V)})
		}
	} else {
		k.NoHead = export.NoHeadWords(z.Head)
	}
	for _, f := range export.ZoneFacts(z, in.Chart.Forecast, u) {
		if f.Label != "Head" {
			k.Facts = append(k.Facts, f)
		}
	}
	if z.FishBottomM.OK && z.FishBottomM.V > export.DeepFishM {
		k.Caution = export.DeepFishCaution(u)
	}
	var box *ingest.Tackle
	if in.Settings != nil {
		box = &in.Settings.Tackle
	}
	k.Heads = newHeads(z.Head, box, u)
	k.AdviceHead, k.Advice = export.AdviceHeading, export.Advice(z, in.Chart.Leeway, u)
	for j, t := range z.Head.Trials {
		k.Trials = append(k.Trials, trial(z.Head, t, z.Head.Picked && j == z.Head.Pick, u))
	}
	if z.Head.DepthM.OK && z.Head.SpeedMPS.OK {
		k.TrialsAbout = fmt.Sprintf("At %s in a drift of %s. %s Seconds a fish: down, up with a fish, unhooked, at best. Retrieve up to: from a cast's length of line, without rising above %s, the top of the fish.",
			u.Depth(z.Head.DepthM.V), u.Speed(z.Head.SpeedMPS.V), export.WaterWords(z.Head, u), u.Depth(z.Head.KeepBelowM().V))
	}
	return k
}

// title is a zone's name without its id.
func title(z spatial.Zone, u si.System) string {
	t := strings.TrimPrefix(export.ZoneName(z, u), z.ID+": ")
	if t == z.ID {
		return "Zone"
	}
	return capital(t)
}

func (p *content) read(in export.Findings) {
	for i, s := range in.Sources {
		r := fileRow{
			Name: s.Name, TakenFor: s.TakenFor, Rows: export.Count(s.RowsRead), Used: export.Count(s.Used),
			Repaired: export.Count(s.Repaired), SetAside: export.Count(s.SetAside), Flagged: flagged(in.Flagged(i)), Clock: "as it stands",
		}
		if words := export.ClockWords(s); words != "" {
			r.Clock = words
		}
		var used, unused []string
		for _, c := range s.Columns {
			switch {
			case c.ReadAs == "":
				unused = append(unused, c.Name)
			case c.Unit != "":
				used = append(used, fmt.Sprintf("%s as %s in %s", c.Name, c.ReadAs, c.Unit))
			default:
				used = append(used, fmt.Sprintf("%s as %s", c.Name, c.ReadAs))
			}
		}
		r.Columns, r.Unused = strings.Join(used, "; "), strings.Join(unused, "; ")
		p.Files = append(p.Files, r)
	}
	if len(p.Files) == 0 {
		p.FilesEmpty = "No file was read."
	}

	for _, q := range in.Problems[:min(firstFew, len(in.Problems))] {
		place := q.File
		if q.Line > 0 {
			place += ", line " + strconv.Itoa(q.Line)
		}
		p.Problems = append(p.Problems, problemRow{place, q.Reason(), q.Outcome.String()})
	}
	p.ProblemsMore = more(len(in.Problems))
	if len(in.Problems) == 0 && len(in.Sources) > 0 {
		p.ProblemsEmpty = "Every row could be used as it stands."
	}

	for _, t := range in.UnplacedTallies() {
		p.Tallies = append(p.Tallies, fmt.Sprintf("%s: %s", export.Plural(t.Count, t.What, plural(t.What)), t.Reason))
	}
	zone := export.Clock(in.Chart.Zone)
	for _, l := range in.Unplaced[:min(firstFew, len(in.Unplaced))] {
		r := unplacedRow{What: l.What, Place: in.SourceName(l.Source), Time: export.Unknown, Reason: l.Reason}
		switch {
		case l.Count > 1:
			r.What = export.Plural(l.Count, l.What, plural(l.What))
			r.Place += fmt.Sprintf(", lines %d to %d", l.Line, l.LastLine)
		case l.Line > 0:
			r.Place += ", line " + strconv.Itoa(l.Line)
		}
		if !l.Time.IsZero() {
			r.Time = l.Time.In(zone).Format("2006-01-02 15:04:05")
		}
		p.Unplaced = append(p.Unplaced, r)
	}
	p.UnplacedMore = more(len(in.Unplaced))
	if len(in.Unplaced) == 0 && len(in.Sources) > 0 {
		p.UnplacedEmpty = "Every record that was read has its place."
	}
}

func more(n int) string {
	if n <= firstFew {
		return ""
	}
	return fmt.Sprintf("The first %d of %s. All are in result.json.", firstFew, export.Count(n))
}

func plural(noun string) string {
	if strings.HasSuffix(noun, "ch") {
		return noun + "es"
	}
	return noun + "s"
}

// flagged lists reasons with their counts, most frequent first.
func flagged(counts map[string]int) string {
	reasons := make([]string, 0, len(counts))
	for r := range counts {
		reasons = append(reasons, r)
	}
	sort.Slice(reasons, func(i, j int) bool {
		a, b := reasons[i], reasons[j]
		if counts[a] != counts[b] {
			return counts[a] > counts[b]
		}
		return a < b
	})
	for i, r := range reasons {
		reasons[i] = export.Count(counts[r]) + " " + r
	}
	if len(reasons) == 0 {
		return "none"
	}
	return strings.Join(reasons, ", ")
}

func hours(h float64) string { return export.Hours(h) }

func seconds(s float64) string { return strconv.FormatFloat(s, 'f', 0, 64) + " s" }

// level prints a gauge's reading, finer than a depth is printed: days differ by inches.
func level(m float64, u si.System) string {
	if u == si.Metric {
		return strconv.FormatFloat(m, 'f', 2, 64) + " m"
	}
	return strconv.FormatFloat(m/si.FootM, 'f', 1, 64) + " ft"
}

func trailer(m float64, u si.System) string {
	if u == si.Metric {
		return strconv.FormatFloat(m*1000, 'f', 0, 64) + " mm"
	}
	return strconv.FormatFloat(m/si.InchM, 'f', 1, 64) + " in"
}

func depth(m ingest.Maybe, u si.System) string {
	if !m.OK {
		return "–"
	}
	return u.Depth(m.V)
}

// capital returns the text with its first letter upper case.
func capital(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

func dash(s string) string {
	if s == "" {
		return "–"
	}
	return s
}
