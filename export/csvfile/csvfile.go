// Package csvfile writes the zones of a chart as a table, CSV by RFC 4180.
package csvfile

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/paulmach/orb"

	"leadline/export"
	"leadline/ingest"
	"leadline/spatial"
)

// Columns that follow those of a zone's properties: the mean of its events in degrees on
// WGS 84, and its outline as well-known text (OGC 06-103r4), longitude first.
const (
	columnLat     = "centre_lat"
	columnLon     = "centre_lon"
	columnOutline = "outline_wkt"
)

// Write writes a line of column names and a line for each zone, in the chart's order, with
// CRLF at the ends. The names are those of a zone's properties in the other outputs, whose
// unit is at their end, then centre_lat, centre_lon and outline_wkt. What can't be known
// is an empty cell; numbers have a point and no grouping; yes and no are true and false.
// The text in name and head_why is in the person's units, line breaks in it made spaces.
// A text that a spreadsheet would take for a formula has an apostrophe in front of it.
//
// Without a zone there is the line of names only. Errors are those of w, and of a property
// that no cell can hold. It is linear in the number of points.
func Write(w io.Writer, in export.Findings, opt export.Options) error {
	c := csv.NewWriter(w)
	c.UseCRLF = true
	var row []string
	for _, p := range export.ZoneFeature(spatial.Zone{}, opt.Units).Properties {
		row = append(row, p.Name)
	}
	if err := c.Write(append(row, columnLat, columnLon, columnOutline)); err != nil {
		return err
	}
	for _, z := range in.Chart.Zones {
		f := export.ZoneFeature(z, opt.Units)
		row = row[:0]
		for _, p := range f.Properties {
			text, err := cell(p.Value)
			if err != nil {
				return fmt.Errorf("%s %s: %w", z.ID, p.Name, err)
			}
			row = append(row, text)
		}
		at := export.RoundPoint(z.Centre)
		if err := c.Write(append(row, number(at.Lat()), number(at.Lon()), outline(f.Geometry))); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}

// cell prints a property's value.
func cell(v any) (string, error) {
	switch v := v.(type) {
	case nil:
		return "", nil
	case string:
		return text(v), nil
	case int:
		return strconv.Itoa(v), nil
	case bool:
		return strconv.FormatBool(v), nil
	case float64:
		return number(v), nil
	case ingest.Maybe:
		if !v.OK {
			return "", nil
		}
		return number(v.V), nil
	}
	return "", fmt.Errorf("%T has no place in a cell", v)
}

// text puts a text into one line, and keeps spreadsheets from running what somebody typed
// into a log: they take a cell that begins with one of these signs for a formula, quoted or
// not, some of them also behind spaces, and a formula can fetch a page of the web with other
// cells in its address. With an apostrophe in front the cell is text, and looks the same
// there. Numbers are left alone, -40.1 being no formula to them; a program that reads the
// file finds the apostrophe, which is the price.
// The signs are those of OWASP's page on CSV injection (from memory).
func text(s string) string {
	s = oneLine.Replace(s)
	if start := strings.TrimLeft(s, " \t"); start != "" && strings.ContainsRune("=+-@", rune(start[0])) {
		return "'" + s
	}
	return s
}

// Tools that go by lines would take a break inside quotes for the end of the zone.
var oneLine = strings.NewReplacer("\r\n", " ", "\n", " ", "\r", " ")

func number(v float64) string { return strconv.FormatFloat(v, 'f', -1, 64) }

// outline prints a polygon as well-known text, and nothing for no polygon. orb's own
// wkt package prints 0.00001 as 1e-05, which not every reader of tables takes.
func outline(g orb.Geometry) string {
	p, ok := g.(orb.Polygon)
	if !ok || len(p) == 0 {
		return ""
	}
	var b strings.Builder
	b.WriteString("POLYGON (")
	for i, ring := range p {
		b.WriteString([]string{"(", ", ("}[min(i, 1)])
		for j, at := range ring {
			if j > 0 {
				b.WriteString(", ")
			}
			b.WriteString(number(at.Lon()) + " " + number(at.Lat()))
		}
		b.WriteString(")")
	}
	b.WriteString(")")
	return b.String()
}
