package webmap

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"html/template"
	"strings"

	"leadline/export"
)

var (
	//go:embed library/leaflet-1.9.4/leaflet.js
	libraryText string
	//go:embed library/leaflet-1.9.4/LICENSE
	licenceText string
	//go:embed script/*.js
	scriptFiles embed.FS
	//go:embed webmap.css
	styleText string
	//go:embed webmap.html
	figureText string

	figure     = template.Must(template.New("figure").Parse(figureText))
	scriptText = script()
)

// A Map is what a page embeds; see the package's comment for where each part goes.
// It is empty when nothing on the chart has a position.
type Map struct {
	Style   template.CSS  // of one style element
	Scripts []template.JS // of one script element each, in this order: the library, then ours
	Data    template.JS   // of the script element of type application/json with the id webmap-data
}

// New returns the map of the findings, its words in the units of opt. It is empty when
// nothing on the chart has a position. The same input gives the same bytes.
//
// Errors are those of encoding what it shows: a number that isn't one. The cost is linear
// in the number of points.
func New(in export.Findings, opt export.Options) (Map, error) {
	d, ok := newData(in, opt)
	if !ok {
		return Map{}, nil
	}
	// Marshal writes <, >, &, U+2028 and U+2029 as escapes, so that no text can end the
	// element it stands in.
	text, err := json.Marshal(d)
	if err != nil {
		return Map{}, fmt.Errorf("map: %w", err)
	}
	return Map{
		Style:   template.CSS(styleText),
		Scripts: []template.JS{template.JS(library()), template.JS(scriptText)},
		Data:    template.JS(text),
	}, nil
}

// library is the vendored file without the line that names its source map. Its licence
// stands before it: who passes the page on passes on the library, and the licence wants to
// go with it. Its lines end in CR LF; a browser reads them as LF, and hashes that.
func library() string {
	code, _, _ := strings.Cut(libraryText, "\n//# sourceMappingURL=")
	return "/* Leaflet\n\n" + strings.ReplaceAll(licenceText, "\r\n", "\n") + "*/\n" + code + "\n"
}

// script puts our files together, in the order of their names. It panics when one can't be
// read, which only a faulty build can bring about.
func script() string {
	files, err := scriptFiles.ReadDir("script") // sorted by name
	if err != nil {
		panic(err)
	}
	var b strings.Builder
	b.WriteString("(() => {\n'use strict';\n")
	for _, f := range files {
		text, err := scriptFiles.ReadFile("script/" + f.Name())
		if err != nil {
			panic(err)
		}
		b.Write(text)
	}
	b.WriteString("})();\n")
	return b.String()
}

// Empty reports whether there is no map to show.
func (m Map) Empty() bool { return m.Data == "" }

// Figure returns the figure element, with the still picture inside, which is what is seen
// without scripts and on paper. The still may be of several elements, such as an svg and
// a figcaption; on a screen with scripts all are hidden, but stay laid out, since other
// pictures of the page may use their patterns. Of an empty map it returns the still alone.
func (m Map) Figure(still template.HTML) (template.HTML, error) {
	if m.Empty() {
		return still, nil
	}
	var b bytes.Buffer
	if err := figure.Execute(&b, still); err != nil {
		return "", err
	}
	return template.HTML(b.String()), nil
}

// StyleSource returns the source expression of the style for a Content-Security-Policy:
// "'sha256-…'".
func (m Map) StyleSource() string { return Source(string(m.Style)) }

// ScriptSources returns those of the scripts, in their order. The data needs none: it is
// not run (HTML standard, "prepare the script element": a data block returns before the
// policy is asked).
func (m Map) ScriptSources() []string {
	out := make([]string, len(m.Scripts))
	for i, s := range m.Scripts {
		out[i] = Source(string(s))
	}
	return out
}

// Policy returns the Content-Security-Policy of a page that has nothing but this map and
// the given further style sheets inline.
func (m Map) Policy(styles ...string) string {
	var css []string
	for _, s := range styles {
		css = append(css, Source(s))
	}
	script := "'none'"
	if !m.Empty() {
		css = append(css, m.StyleSource())
		script = strings.Join(m.ScriptSources(), " ")
	}
	style := "'none'"
	if len(css) > 0 {
		style = strings.Join(css, " ")
	}
	return "default-src 'none'; style-src " + style + "; script-src " + script + "; base-uri 'none'; form-action 'none'"
}

// Source returns the source expression that lets exactly this inline text pass: its
// SHA-256 in base64 (W3C Content Security Policy Level 3, section 2.3.1, hash-source).
func Source(text string) string {
	sum := sha256.Sum256([]byte(text))
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}
