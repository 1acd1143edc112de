// Package report writes the findings as one web page that needs no network: a
// map, a card per zone, tables, and what became of everything that was read.
package report

import (
	"bufio"
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"strings"

	"leadline/export"
	"leadline/export/webmap"
)

//go:embed report.css
var styleSheet string

//go:embed report.tmpl
var pageText string

var page = template.Must(template.New("page").Parse(pageText))

// Write writes the report. The page loads nothing, and says so to the browser in a
// Content-Security-Policy that allows its own style sheets and the scripts of its map alone,
// by their hashes. Without scripts, and on paper, the map is a still picture. All text that came from a
// file is escaped.
//
// Errors are those of w, and of a number on the map that isn't one. The cost is linear in the number of points for
// each zone.
func Write(w io.Writer, in export.Findings, opt export.Options) error {
	style := styleSheet + depthRules(len(in.Chart.Areas))
	p := build(in, opt)
	p.Style = template.CSS(style)
	m, err := webmap.New(in, opt)
	if err != nil {
		return err
	}
	p.Policy = m.Policy(style)
	p.MapStyle, p.MapData, p.Scripts = m.Style, m.Data, m.Scripts
	if p.Map != nil {
		var still bytes.Buffer
		if err := page.ExecuteTemplate(&still, "still", p); err != nil {
			return err
		}
		if p.Figure, err = m.Figure(template.HTML(still.String())); err != nil {
			return err
		}
	}
	b := bufio.NewWriter(w)
	if err := page.Execute(b, p); err != nil {
		return err
	}
	return b.Flush()
}

// depthRules are the colours of the depth areas, for light and for dark screens.
// On a dark screen the palest part of the ramp would outshine everything else.
func depthRules(n int) string {
	var b strings.Builder
	rules := func(from float64) {
		for i := range n {
			fmt.Fprintf(&b, ".%s{fill:%s}\n", depthClass(i), export.Hex(export.DepthColour(i, n, from)))
		}
	}
	rules(0)
	b.WriteString("@media screen and (prefers-color-scheme:dark){\n")
	rules(0.36)
	b.WriteString("}\n")
	return b.String()
}
