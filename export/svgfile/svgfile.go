// Package svgfile draws a chart as one still picture in SVG 1.1, for a message or a
// print: it holds no script, no font and no link to anything outside.
package svgfile

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"io"
	"math"
	"strings"

	"leadline/export"
	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// The picture is drawn in units of its own. On a phone held upright 800 of them are about
// 380 points: type of 17 units is then read as one of 8 points, the least that is still
// legible (common practice, no source).
const (
	width  = 800.0
	margin = 16.0
	titleY = 36.0 // baseline
	mapY   = 54.0
	small  = 17.0 // size of type
	// The mean width of a letter of a plain sans-serif face, in its size (common practice, no
	// source). Nothing can be measured here: the face is the viewer's.
	letter = 0.55
	nobody = "Nothing here has a position: no map is drawn."
)

// The colours that package export doesn't have.
const (
	ink     = "#16212b"
	ground  = "#e6e9e6" // what was not sounded
	contour = "#08306b"
)

// Write draws the depth areas, the contours with their depths, the zones with their ids,
// proven ones filled and others hatched, drift lines with arrows, and catches and bites as
// dots; north is up. Below the map stand what the colours and signs mean, the water level
// where it is known, and a caution. Text is in the person's units. A chart in which nothing
// has a position gives a picture that says so.
//
// Positions are drawn within 0.3 of a unit, 0.08 mm where the picture is 200 mm wide; one
// that is no number is passed over. Errors are those of w. Its cost is n log n in the number
// of points.
func Write(w io.Writer, in export.Findings, opt export.Options) error {
	p := page{units: opt.Units}
	p.draw(in.Chart, opt)
	_, err := w.Write(p.Bytes())
	return err
}

// A page is the picture as it grows.
type page struct {
	bytes.Buffer
	units si.System
}

func (p *page) add(format string, args ...any) { fmt.Fprintf(p, format, args...) }

// text writes a line of type; attributes are ours, the words may be anybody's.
func (p *page) text(x, y float64, attributes, words string) {
	p.add(`<text x="%s" y="%s"%s>%s</text>`+"\n", num(x), num(y), attributes, escaped(words))
}

// escaped makes any text into text of XML; what XML can't hold becomes U+FFFD.
func escaped(s string) string {
	var b bytes.Buffer
	xml.EscapeText(&b, []byte(s)) // a bytes.Buffer takes everything
	return b.String()
}

func (p *page) draw(c spatial.Chart, opt export.Options) {
	var body page
	body.units = p.units
	bottom := mapY
	if m, ok := newMap(c); ok {
		body.drawMap(c, m)
		bottom += m.height
	} else {
		body.text(margin, mapY+24, size(small), nobody)
		bottom += 40
	}
	bottom = body.legend(c, bottom)
	bottom = body.words(c, bottom)

	title := opt.Heading()
	p.add(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	p.add(`<svg xmlns="http://www.w3.org/2000/svg" version="1.1" viewBox="0 0 %s %s" font-family="sans-serif" font-size="%s" fill="%s">`+"\n",
		num(width), num(bottom), num(small), ink)
	p.add("<title>%s</title>\n<desc>Map of depths, zones, drift lines and catches, north up. Not for navigation. Made by leadline.</desc>\n", escaped(title))
	p.add(`<defs><pattern id="hatch" width="9" height="9" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path fill="#fff" fill-opacity=".4" d="M0 0h9v9H0z"/><path d="M4.5 0V9" stroke="%s" stroke-width="1.8"/></pattern>`, export.Hex(export.ZoneColour))
	p.add(`<pattern id="dots" width="8" height="8" patternUnits="userSpaceOnUse"><path d="M1 2h2M5 6h2" stroke="%s" stroke-width="1.6"/></pattern></defs>`+"\n", ink)
	p.add(`<path fill="#fff" d="M0 0h%sv%sH0z"/>`+"\n", num(width), num(bottom))
	big := 26.0
	if wide := wordsWide(title, big); wide > width-2*margin {
		big = math.Max(13, big*(width-2*margin)/wide)
	}
	p.text(margin, titleY, size(big)+` font-weight="bold"`, cut(title, big))
	p.Write(body.Bytes())
	p.add("</svg>\n")
}

func size(units float64) string { return fmt.Sprintf(` font-size="%s"`, num(units)) }

func wordsWide(s string, units float64) float64 {
	return letter * units * float64(len([]rune(s)))
}

// cut shortens a title that not even small type brings on one line.
func cut(s string, units float64) string {
	most := int((width - 2*margin) / (letter * units))
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}

// legend explains what occurs on the map, below y; it returns where the next thing goes.
func (p *page) legend(c spatial.Chart, y float64) float64 {
	if n := len(c.Areas); n > 0 {
		_, unit, _ := strings.Cut(p.units.Depth(1), " ")
		y += 30
		p.text(margin, y, ` font-weight="bold"`, "Depth in "+unit)
		y += 10
		cell := (width - 2*margin) / float64(n)
		for i := range c.Areas {
			p.add(`<path fill="%s" d="M%s %sh%sv18h-%sz"/>`+"\n", export.Hex(export.DepthColour(i, n, 0)), num(margin+cell*float64(i)), num(y), num(cell), num(cell))
		}
		y += 36
		every := int(math.Ceil(46 / cell))
		for i := 0; i <= n; i += every {
			depthM := c.Areas[n-1].BottomM
			if i < n {
				depthM = c.Areas[i].TopM
			}
			anchor := ` text-anchor="middle"`
			switch i {
			case 0:
				anchor = ""
			case n:
				anchor = ` text-anchor="end"`
			}
			p.text(margin+cell*float64(i), y, anchor, bare(p.units.Depth(depthM)))
		}
		y += 4
	}

	x, row := margin, 0.0
	item := func(signWide float64, sign, words string) {
		wide := signWide + 8 + wordsWide(words, small) + 18
		if row == 0 || x+wide > width {
			x, row = margin, y+28
			y = row
		}
		p.add(`<g transform="translate(%s %s)">%s</g>`+"\n", num(x), num(row-6), sign)
		p.text(x+signWide+8, row, "", words)
		x += wide
	}
	occurs := newSigns(c)
	if occurs.proven {
		item(36, `<rect x="2" y="-8" width="34" height="16" rx="8" `+provenLook+`/>`, "proven zone")
	}
	if occurs.unproven {
		item(36, `<rect x="2" y="-8" width="34" height="16" rx="8" `+unprovenLook+`/>`, "not proven")
	}
	if occurs.drifts {
		item(36, `<g `+driftLook+`><path d="M2 0h28" `+casing+`/><path d="M2 0h28" `+core+`/></g><path transform="translate(34)" `+arrow+`/>`, "drift line")
	}
	if occurs.catches {
		item(12, `<circle cx="7" r="4.5" `+catchLook+`/>`, "catch")
	}
	if occurs.bites {
		item(12, `<circle cx="7" r="4" `+biteLook+`/>`, "bite")
	}
	if len(c.Areas) > 0 {
		item(36, `<rect x="2" y="-8" width="34" height="16" fill="`+ground+`" stroke="#aab3ae"/>`, "not sounded")
	}
	if len(c.Bottom.Unsure) > 0 {
		item(36, `<rect x="2" y="-8" width="34" height="16" fill="url(#dots)" stroke="#aab3ae"/>`, "may be off by more than "+export.FineDepth(c.Bottom.UnsureM, p.units))
	}
	return y + 10
}

// signs tells which signs the map has.
type signs struct{ proven, unproven, drifts, catches, bites bool }

func newSigns(c spatial.Chart) signs {
	var s signs
	for _, z := range c.Zones {
		s.proven, s.unproven = s.proven || z.Proven, s.unproven || !z.Proven
	}
	for _, e := range c.Events {
		s.catches, s.bites = s.catches || e.Kind == ingest.Catch, s.bites || e.Kind == ingest.Bite
	}
	s.drifts = len(c.Drifts) > 0
	return s
}

// words writes the level and the caution below y and returns where the picture ends.
func (p *page) words(c spatial.Chart, y float64) float64 {
	var lines []string
	if c.LevelM.OK {
		lines = append(lines, "Depths are at a water level of "+export.FineDepth(c.LevelM.V, p.units)+".")
	}
	// The first words of the caution stand out: they are what must be read.
	const must = "Not for navigation."
	rest := strings.TrimSpace(strings.TrimPrefix(export.Cautions(p.units)[0], must))
	lines = append(lines, wrapped(rest, int(math.Floor((width-2*margin)/(letter*small))))...)
	y += 22
	p.text(margin, y, ` font-weight="bold"`, must)
	for _, l := range lines {
		y += 23
		p.text(margin, y, ` fill="#45525e"`, l)
	}
	return y + 16
}

// wrapped breaks a sentence into lines of at most so many letters, words kept whole.
func wrapped(s string, most int) []string {
	var out []string
	line := ""
	for _, word := range strings.Fields(s) {
		switch {
		case line == "":
			line = word
		case len([]rune(line))+1+len([]rune(word)) > most:
			out = append(out, line)
			line = word
		default:
			line += " " + word
		}
	}
	if line != "" {
		out = append(out, line)
	}
	return out
}

// bare is a printed quantity without its unit.
func bare(s string) string {
	number, _, _ := strings.Cut(s, " ")
	return strings.TrimSuffix(number, ".0")
}
