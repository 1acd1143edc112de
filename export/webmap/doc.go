// Package webmap makes the map of the report that a person can move: depth areas,
// contours, zones, drift lines, marks and tracks as layers to switch on and off, and
// a card for whatever is picked, by mouse, finger or keyboard.
//
// It works from a file on disk and asks for nothing: library, style, script and data
// are all in the page. Without scripts, and on paper, the still picture that the
// caller passes in stands in its place.
//
// # The page it goes into
//
//	m, err := webmap.New(in, opt)
//	…
//	<meta http-equiv="Content-Security-Policy" content="{{policy}}">
//	<style>{{.Map.Style}}</style>
//	{{.Map.Figure still}}
//	<script type="application/json" id="webmap-data">{{.Map.Data}}</script>
//	{{range .Map.Scripts}}<script>{{.}}</script>{{end}}
//
// Data and scripts come after the figure. Nothing may be added between a tag and its
// content, or its hash is another. The policy is Map.Policy, or, for a page with more
// of its own, one that takes in the hashes of Style and Scripts. There is no inline
// style attribute, no handler attribute, no eval: 'unsafe-inline' and 'unsafe-eval'
// are not needed, nor any img-src.
//
// # The choice of library
//
// Sizes are of the minified files in thousands of bytes, in brackets as gzip -9 packs
// them, from the npm registry; bundles were made with esbuild from what such a map
// needs.
//
//	Leaflet 1.9.4           BSD-2   148 (42)
//	d3-geo 3, d3-zoom 3     ISC      70 (24) bundled
//	OpenLayers 10.11        BSD-2   299 (87) bundled, 1071 (298) whole
//	MapLibre GL JS 6.17     BSD-3  1630 (442) with its worker
//
// Leaflet is taken. It pans, zooms, pinches and takes keys by itself, draws on a canvas,
// finds what a pointer hit, thins lines to the pixel, and has plane coordinates without
// tiles (CRS.Simple). It sets styles through the object model, which a policy without
// 'unsafe-inline' lets pass, and of its HTML strings none is used here: its own controls
// stay out. d3 is half the size, but hit tests, thinning, keys and layers would be ours to
// write and to test. OpenLayers does all and is the better library for projections and
// large data, at twice the size; a lake has no need of either. MapLibre needs WebGL, a
// worker from a blob (one more source in the policy) and glyph files for its labels, and is
// eleven times the size.
//
// The file is kept byte for byte under library, with its licence; a test holds its hash.
// The licence is in every page too, before the code. Only the last line, which names a
// source map, stays out: a browser's tools would ask for that file. The directory isn't called vendor, since the go command leaves
// directories of that name out of a module's archive, and go install would then find no
// library. A few members that Leaflet marks as its own (_updatePath, _rings, _bounds of
// the renderer) are used to draw arrows, hatching and text on its canvas: look at them when
// the version changes; the tests behind the build tag reference drive a browser over them.
package webmap
