// Package runsheet writes a run as one sheet to print the evening before and read on
// the boat: the hours, a map, the stops in their order, and in smaller type what to do
// when the day turns out otherwise and how sure all of it is.
//
// Up to three stops go on one page of Letter or A4 with everything; up to six fill the
// first page and the smaller type goes on the back.
package runsheet

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
	"leadline/spatial"
)

//go:embed sheet.css
var styleSheet string

//go:embed sheet.tmpl
var sheetText string

var sheet = template.Must(template.New("sheet").Parse(sheetText))

// Write writes the sheet of a run over the chart it was planned on, in the units of
// opt; its title, when given, stands above the date. A run without stops gives a sheet
// that says why, with all the rest that is known and the cautions.
//
// The page has no script, loads nothing, and says so to the browser in a
// Content-Security-Policy that allows its own style sheet alone, by its hash. All text
// that came from a file or a person is escaped. The same chart, run and options give
// the same bytes.
//
// Errors are those of w. The cost is linear in the points of the chart's areas and
// contours and of the legs, and quadratic in the number of stops.
func Write(w io.Writer, c spatial.Chart, r spatial.Run, opt export.Options) error {
	style := styleSheet + stepRules()
	sum := sha256.Sum256([]byte(style))
	s := build(c, r, opt)
	s.Style = template.CSS(style)
	s.Policy = fmt.Sprintf("default-src 'none'; style-src 'sha256-%s'; base-uri 'none'; form-action 'none'",
		base64.StdEncoding.EncodeToString(sum[:]))
	b := bufio.NewWriter(w)
	if err := sheet.Execute(b, s); err != nil {
		return err
	}
	return b.Flush()
}

// stepRules are the colours of the depth steps on the map: the paler part of the chart's
// ramp (export.DepthColour, which is ColorBrewer's "Blues"), so that black type and lines
// stand on each; on a dark screen the darker part, for white ones. Deeper is darker in
// both, and in greyscale too.
func stepRules() string {
	const ramp = 11 // steps of the whole ramp, of which the first and the last few are taken
	var b strings.Builder
	rules := func(from int) {
		for i := range mapSteps {
			fmt.Fprintf(&b, ".%s{fill:%s}\n", stepClass(i), export.Hex(export.DepthColour(from+i, ramp, 0)))
		}
	}
	rules(0)
	b.WriteString("@media screen and (prefers-color-scheme:dark){\n")
	rules(ramp - mapSteps)
	b.WriteString("}\n")
	return b.String()
}
