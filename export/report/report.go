// Package report writes the findings as one web page that needs no network: a
// map, a card per zone, tables, and what became of everything that was read.
package report

import (
	"bufio"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"strings"

	"leadline/export"
)

//go:embed report.css
var styleSheet string

//go:embed report.tmpl
var pageText string

var page = template.Must(template.New("page").Parse(pageText))

// Write writes the report. The page has no script, loads nothing, and says so to
// the browser in a Content-Security-Policy that allows its own style sheet alone,
// by its hash. All text that came from a file is escaped.
//
// Errors are those of w. The cost is linear in the number of points for each zone.
func Write(w io.Writer, in export.Findings, opt export.Options) error {
	style := styleSheet + depthRules(len(in.Chart.Areas))
	sum := sha256.Sum256([]byte(style))
	p := build(in, opt)
	p.Style = template.CSS(style)
	p.Policy = fmt.Sprintf("default-src 'none'; style-src 'sha256-%s'; base-uri 'none'; form-action 'none'",
		base64.StdEncoding.EncodeToString(sum[:]))
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
