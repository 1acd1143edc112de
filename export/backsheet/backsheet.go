// Package backsheet writes a backtest as one page: would the zones of the days before have
// shown where to fish? The answer with its interval, how it changes with days of record, each
// day left out, and every figure.
package backsheet

import (
	"bufio"
	"crypto/sha256"
	_ "embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"

	"leadline/export"
	"leadline/spatial"
)

//go:embed sheet.css
var styleSheet string

//go:embed sheet.tmpl
var sheetText string

var sheet = template.Must(template.New("sheet").Parse(sheetText))

// Write writes the page of a backtest, in the units of opt; its title, when given, stands
// above the heading. Where there are too few days, or none, the page says so and what is
// needed.
//
// The page has no script, loads nothing, and says so to the browser in a
// Content-Security-Policy that allows its own style sheet alone, by its hash. All text
// that came from a file or a person is escaped. The same backtest and options give the same
// bytes.
//
// Errors are those of w. The cost is linear in the days left out.
func Write(w io.Writer, t spatial.Backtest, opt export.Options) error {
	sum := sha256.Sum256([]byte(styleSheet))
	s := build(t, opt)
	s.Style = template.CSS(styleSheet)
	s.Policy = fmt.Sprintf("default-src 'none'; style-src 'sha256-%s'; base-uri 'none'; form-action 'none'",
		base64.StdEncoding.EncodeToString(sum[:]))
	b := bufio.NewWriter(w)
	if err := sheet.Execute(b, s); err != nil {
		return err
	}
	return b.Flush()
}
