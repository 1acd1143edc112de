package export

import (
	"fmt"
	"image/color"
	"math"
)

// depthRamp runs from shallow (light) to deep (dark): the nine-class sequential
// scheme "Blues" of ColorBrewer (Cynthia Brewer, Pennsylvania State University),
// without its palest class, which can't be told from paper. It is listed there as
// safe for the colour-blind.
var depthRamp = []color.RGBA{
	{0xde, 0xeb, 0xf7, 0xff},
	{0xc6, 0xdb, 0xef, 0xff},
	{0x9e, 0xca, 0xe1, 0xff},
	{0x6b, 0xae, 0xd6, 0xff},
	{0x42, 0x92, 0xc6, 0xff},
	{0x21, 0x71, 0xb5, 0xff},
	{0x08, 0x51, 0x9c, 0xff},
	{0x08, 0x30, 0x6b, 0xff},
}

// The accents of a chart: vermillion and yellow of the palette by Okabe and Ito
// (Color Universal Design, 2008), which stay apart from each other and from blue
// for the three common kinds of colour blindness.
var (
	ZoneColour  = color.RGBA{0xd5, 0x5e, 0x00, 0xff}
	DriftColour = color.RGBA{0xf0, 0xe4, 0x42, 0xff}
	EventColour = color.RGBA{0xff, 0xff, 0xff, 0xff}
)

// DepthColour returns the colour of the depth step i of n, shallow to deep. The
// share from is where on the ramp the shallowest begins: 0 is its lightest end.
func DepthColour(i, n int, from float64) color.RGBA {
	t := from
	if n > 1 {
		t += (1 - from) * float64(i) / float64(n-1)
	}
	at := math.Min(math.Max(t, 0), 1) * float64(len(depthRamp)-1)
	k := min(int(at), len(depthRamp)-2)
	a, b, f := depthRamp[k], depthRamp[k+1], at-float64(k)
	mix := func(x, y uint8) uint8 { return uint8(math.Round(float64(x) + f*(float64(y)-float64(x)))) }
	return color.RGBA{mix(a.R, b.R), mix(a.G, b.G), mix(a.B, b.B), 0xff}
}

// Hex prints a colour as CSS takes it: "#d55e00".
func Hex(c color.RGBA) string {
	return fmt.Sprintf("#%02x%02x%02x", c.R, c.G, c.B)
}
