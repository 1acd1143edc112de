package gpxfile

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/paulmach/orb"
	"github.com/tkrajina/gpxgo/gpx"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/export"
	"leadline/ingest/plane"
	"leadline/spatial"
)

// What a plotter takes, by common practice, no source: the letters of a name and the
// points of a route. Many cut a longer name without a word, and refuse a longer route.
const (
	nameLetters = 10
	routePoints = 120
)

// WriteRun writes a run for a plotter: one route named RUN along all legs from launch to
// take-out, and a waypoint each for the launch, for every stop where its drift begins, for
// the end of each drift whose direction is known, and for the take-out (HOME), in order of
// travel. Of a stop whose drift may go any way the waypoint is the zone's centre.
//
// With short true a name is at most ten letters, digits and spaces, in capitals, and none
// comes twice: "1 Z3", "1 Z3 END", "LAUNCH", "HOME". With short false a stop's name goes on
// with the fish's depth and the head: "1 Z3 18 to 22 ft 1/4 oz". The rest is in the
// description, in the person's units; names and descriptions are plain ASCII either way.
//
// A route has 120 points at most, unless it has more stops than that. The corners of the
// legs are kept as they are while they are no more; otherwise those go whose loss moves the
// way least, never the launch, a stop or the take-out, and the description says by how much
// the way may be off.
//
// A symbol is written only when Options has one. No time is written, so that the same input
// gives the same bytes. A run without a stop gives launch and take-out, and no route.
//
// Errors are those of w. It is linear in the number of points while they are no more than a
// route takes, else quadratic.
func WriteRun(w io.Writer, c spatial.Chart, r spatial.Run, opt export.Options, short bool) error {
	title := opt.Title
	if title == "" {
		title = "Run"
	}
	if r.Date != "" {
		title += " " + r.Date
	}
	doc := gpx.GPX{
		Version: "1.1", Creator: "leadline",
		Name:        ascii(title),
		Description: ascii(strings.Join(append(export.RunSummary(r, opt.Units), export.RunCautions(opt.Units)...), " ")),
	}
	taken := map[string]bool{"LAUNCH": true, "HOME": true}
	mark := func(at orb.Point, name, words string) {
		p := point(at)
		p.Name, p.Description, p.Symbol = name, ascii(words), opt.Sym
		doc.AppendWaypoint(&p)
	}
	launch := "Leave at " + export.RunClock(r.Leave, r.Zone)
	if len(r.Stops) == 0 {
		launch = "Leave from " + export.RunClock(r.Start, r.Zone) + " on"
	}
	if r.Guessed {
		launch += "; where most of the season's days began"
	}
	mark(r.Launch, "LAUNCH", launch)
	for i, s := range r.Stops {
		z := export.RunZone(c, s)
		var way string
		if i < len(r.Legs) {
			way = "; way there " + export.RunLegWords(r.Legs[i], opt.Units)
		}
		name := stopName(s, "", short, taken, opt)
		mark(s.At, name, fmt.Sprintf("%s to %s%s; %s", export.RunClock(s.Arrive, r.Zone), export.RunClock(s.Leave, r.Zone), way, factWords(export.RunStopFacts(s, z, opt.Units))))
		if s.DriftTowardDeg.OK && s.DriftEnd != s.At {
			mark(s.DriftEnd, stopName(s, "END", short, taken, opt), "End of the drift of stop "+strconv.Itoa(s.Order)+": "+export.RunDriftWords(s, opt.Units))
		}
	}
	home := "Back by " + export.RunClock(r.Back, r.Zone)
	if len(r.Stops) > 0 {
		home += "; planned " + export.RunClock(r.Home, r.Zone)
		if n := len(r.Stops); n < len(r.Legs) {
			home += "; way there " + export.RunLegWords(r.Legs[n], opt.Units)
		}
	}
	mark(r.TakeOut, "HOME", home)

	if line, offM := route(r); len(line) > 1 {
		words := "From launch to take-out over water travelled before; not for navigation."
		if offM >= 0.5 {
			words += fmt.Sprintf(" Corners were left out so that it fits a plotter: it may lie %s off the way travelled.", opt.Units.Distance(math.Ceil(offM)))
		}
		rte := gpx.GPXRoute{Name: "RUN", Description: ascii(words)}
		for _, p := range line {
			rte.Points = append(rte.Points, point(p))
		}
		doc.AppendRoute(&rte)
	}
	b, err := doc.ToXml(gpx.ToXmlParams{Version: "1.1", Indent: true})
	if err != nil {
		return err
	}
	_, err = w.Write(append(b, '\n'))
	return err
}

func factWords(facts []export.Fact) string {
	var parts []string
	for _, f := range facts {
		parts = append(parts, strings.ToLower(f.Label)+" "+f.Value)
	}
	return strings.Join(parts, "; ")
}

// stopName names a stop's waypoint, and the end of its drift, by a name that isn't taken.
func stopName(s spatial.RunStop, end string, short bool, taken map[string]bool, opt export.Options) string {
	order := strconv.Itoa(s.Order)
	tail := ""
	if end != "" {
		tail = " " + end
	}
	if !short {
		name := order + " " + ascii(s.Zone)
		if end == "" {
			if s.FishTopM.OK && s.FishBottomM.OK {
				name += " " + export.DepthRange(s.FishTopM.V, s.FishBottomM.V, opt.Units)
			}
			if t, ok := s.Head.Chosen(); ok {
				name += " " + opt.Units.Mass(t.Head.MassKg)
			}
		}
		return free(name, tail, math.MaxInt, taken)
	}
	return free(strings.TrimSpace(order+" "+letters(s.Zone)), tail, nameLetters, taken)
}

// free returns the head of a name with its tail in at most that many letters; the head is
// cut where both are too long, and a letter before the tail tells apart what would be the
// same. Orders differ in any run, so that a letter is hardly ever needed.
func free(head, tail string, most int, taken map[string]bool) string {
	for i := 0; ; i++ {
		more := ""
		if i > 0 {
			more = " " + strings.ToUpper(fmt.Sprintf("%x", i))
		}
		cut := head
		if room := most - len(more) - len(tail); len(cut) > room {
			cut = strings.TrimSpace(cut[:max(room, 0)])
		}
		name := strings.TrimSpace(cut + more + tail)
		if !taken[name] {
			taken[name] = true
			return name
		}
	}
}

// letters keeps the capitals, digits and spaces of a name, as capitals.
func letters(s string) string {
	var b strings.Builder
	for _, r := range strings.ToUpper(ascii(s)) {
		switch {
		case r >= 'A' && r <= 'Z', r >= '0' && r <= '9':
			b.WriteRune(r)
		case b.Len() > 0 && !strings.HasSuffix(b.String(), " "):
			b.WriteByte(' ')
		}
	}
	return strings.TrimSpace(b.String())
}

// plain is how signs read that a plotter may not know.
var plain = strings.NewReplacer(
	" °F", " F", " °C", " C", "° ", " deg ", "°", " deg", "±", "+/-", "×", "x", "–", "-", "—", "-", "−", "-",
	"‘", "'", "’", "'", "“", "\"", "”", "\"", "…", "...", "½", " 1/2", "¼", " 1/4", "¾", " 3/4", "²", "2", "\u00a0", " ",
	"Ä", "Ae", "Ö", "Oe", "Ü", "Ue", "ä", "ae", "ö", "oe", "ü", "ue", "ß", "ss",
	"à", "a", "á", "a", "â", "a", "ã", "a", "å", "a", "ç", "c", "è", "e", "é", "e", "ê", "e", "ë", "e", "ì", "i", "í", "i", "î", "i", "ï", "i",
	"ñ", "n", "ò", "o", "ó", "o", "ô", "o", "õ", "o", "ø", "o", "ù", "u", "ú", "u", "û", "u", "É", "E", "È", "E", "À", "A", "Ç", "C", "Ñ", "N",
)

// ascii spells a text in printable ASCII: signs in words or as the nearest sign, any other
// letter as "?", line ends and other controls as a space.
func ascii(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r < ' ' || r == 0x7f:
			return ' '
		case r > 0x7e:
			return '?'
		}
		return r
	}, plain.Replace(s))
}

// route returns the points of all legs in order, each place once, with no more points than
// a plotter takes, and how far in metres it may lie off the legs.
func route(r spatial.Run) (line orb.LineString, offM float64) {
	var all orb.LineString
	var ends []bool
	for _, l := range r.Legs {
		for j, p := range l.Line {
			if len(all) == 0 || export.RoundPoint(all[len(all)-1]) != export.RoundPoint(p) {
				all, ends = append(all, p), append(ends, false)
			}
			if j == 0 || j == len(l.Line)-1 {
				ends[len(all)-1] = true
			}
		}
	}
	return thin(all, ends, routePoints)
}

// thin takes points out of a line until no more than most are left, or none that may go,
// and returns in metres how far a point taken out lies at most from what is left.
//
// One at a time, the point nearest to the straight stretch between its neighbours that are
// left goes, the earlier of two as near (after Visvalingam and Whyatt 1993, with distance in
// place of area). By hand, in metres: of (0,0), (5,1), (10,0), (10,10) the second lies 1
// off the stretch between its neighbours; the third, 50/√106 = 4.9. The second goes, and
// the line is 1 m off. It does badly where a way turns in many small steps: each is cheap,
// and they add up, which is why the distance is measured at the end and not on the way. The
// ends stay. Quadratic in the points when there are more than most.
func thin(all orb.LineString, stays []bool, most int) (line orb.LineString, offM float64) {
	if len(all) <= most {
		return all, 0
	}
	at := make([]r2.Vec, len(all))
	left := make([]int, len(all))
	frame := plane.New(all[0])
	for i, p := range all {
		at[i], left[i] = frame.Metres(p), i
	}
	for len(left) > most {
		best, leastM := -1, math.Inf(1)
		for k := 1; k+1 < len(left); k++ {
			if stays[left[k]] {
				continue
			}
			if d := offStretch(at[left[k]], at[left[k-1]], at[left[k+1]]); d < leastM {
				best, leastM = k, d
			}
		}
		if best < 0 {
			break
		}
		left = slices.Delete(left, best, best+1)
	}
	for k, i := range left {
		line = append(line, all[i])
		if k == 0 {
			continue
		}
		for j := left[k-1] + 1; j < i; j++ {
			offM = math.Max(offM, offStretch(at[j], at[left[k-1]], at[i]))
		}
	}
	return line, offM
}

// offStretch is the distance of p from the stretch between a and b.
func offStretch(p, a, b r2.Vec) float64 {
	along, to := r2.Sub(b, a), r2.Sub(p, a)
	t := 0.0
	if n := r2.Norm2(along); n > 0 {
		t = math.Min(1, math.Max(0, r2.Dot(to, along)/n))
	}
	return r2.Norm(r2.Sub(to, r2.Scale(t, along)))
}
