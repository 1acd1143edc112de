package madelake

import (
	"math"

	"github.com/paulmach/orb"
	"gonum.org/v1/gonum/spatial/r2"

	"leadline/ingest/plane"
)

// The bottom is one formula, so that its depth is known exactly everywhere. It
// is put together from the parts of a drowned valley:
//
//	valley   two winding shores; across it depth rises as 2s - s², s = 4v(1-v),
//	         v = 0 at the south shore and 1 at the north one; deeper to the dam
//	ledge    a drop along both shores, from the flats to the basin
//	channel  the old river bed, a Gaussian cut along a winding line
//	creek    an arm to the north with its own shores, joined by a smooth maximum
//	humps and points  Gaussian rises, round or drawn out
//
// Metres east and north of the lake's middle; no source, the lake is invented.

// Origin is the middle of the reservoir: open ocean, so that nobody takes it
// for a real lake.
var Origin = orb.Point{-40.0, 36.5}

var frame = plane.New(Origin)

// Half the extent of the box that holds all water, metres.
const (
	halfEastM  = 2050.0
	halfNorthM = 1350.0
)

// A rise is a Gaussian hump or, drawn out, a point that runs out from a shore.
type rise struct {
	at            r2.Vec
	heightM       float64
	longM, shortM float64 // e-folding half lengths
	bearingDeg    float64 // of the long axis
}

var rises = [...]rise{
	{r2.Vec{X: -330, Y: -370}, 3.4, 75, 75, 0},
	{r2.Vec{X: 900, Y: 200}, 5.2, 110, 75, 70},
	{r2.Vec{X: -1080, Y: 190}, 1.6, 60, 60, 0},
	{r2.Vec{X: -640, Y: 430}, 4.0, 230, 55, 160},
	{r2.Vec{X: 250, Y: -560}, 5.0, 260, 60, 20},
	{r2.Vec{X: 1330, Y: -420}, 4.0, 190, 55, 335},
}

// bottomM is the depth at v below the surface at the reference level, metres;
// zero or negative on land.
func bottomM(v r2.Vec) float64 {
	d := smoothMax(valleyM(v), creekM(v))
	for _, r := range rises {
		along, across := turned(r2.Sub(v, r.at), r.bearingDeg)
		along /= r.longM
		across /= r.shortM
		if q := along*along + across*across; q < 40 {
			d -= r.heightM * math.Exp(-q)
		}
	}
	if d < 0 {
		// Banks level off: without this, far land would be a kilometre high.
		d = -6 * math.Tanh(-d/6)
	}
	return d
}

func valleyM(v r2.Vec) float64 {
	x := v.X
	taper := 1 - 0.5*math.Pow(x/1900, 4)
	north := 730 + 140*math.Sin(x/310+0.8) + 60*math.Sin(x/137+2.1) + 22*math.Sin(x/53)
	south := -740 + 150*math.Sin(x/350+2.6) + 55*math.Sin(x/120+0.5) + 20*math.Sin(x/47+1)
	u := (v.Y - south*taper) / ((north - south) * taper)
	s := 4 * u * (1 - u)
	s = math.Max(s, -4)
	deep := 7.6 + 2.1*math.Tanh(x/900)
	d := deep*(2*s-s*s) + 0.9*math.Tanh((s-0.62)/0.045) - 0.9
	if s < 0 {
		d = deep*2*s - 1.8
	}
	d -= 12 * math.Pow(x/1960, 8)

	// Distance to the channel's line, to first order.
	line := -40 + 250*math.Sin(x/430+0.3) + 70*math.Sin(x/190)
	slope := 250.0/430*math.Cos(x/430+0.3) + 70.0/190*math.Cos(x/190)
	q := (v.Y - line) / math.Sqrt(1+slope*slope) / 48
	// The cut ends at the dam and runs on up the river.
	d += 4.6 * math.Exp(-q*q) / (1 + math.Exp((x-1640)/40))

	// Swells and small rolls of the bottom.
	return d + 0.5*math.Sin(x/240+1)*math.Sin(v.Y/190) + 0.16*math.Sin(x/61)*math.Sin(v.Y/47)
}

func creekM(v r2.Vec) float64 {
	line := 430 + 150*math.Sin((v.Y-560)/240)
	slope := 150.0 / 240 * math.Cos((v.Y-560)/240)
	q := (v.X - line) / math.Sqrt(1+slope*slope) / 135
	q = math.Min(q*q, 8)
	d := 7 - 0.0105*(v.Y-400) - 5*q + 1.5*math.Exp(-q*16)
	// South of its mouth the creek has no bed of its own.
	open := 1 / (1 + math.Exp(-(v.Y-430)/45))
	return open*d - (1-open)*8
}

// smoothMax is a maximum without an edge; it is at most 0.28 m above either.
func smoothMax(a, b float64) float64 {
	const k = 0.4
	hi, lo := math.Max(a, b), math.Min(a, b)
	return hi + k*math.Log1p(math.Exp((lo-hi)/k))
}

// turned gives v in axes along and across a bearing, across to the right.
func turned(v r2.Vec, bearingDeg float64) (along, across float64) {
	a := plane.Toward(bearingDeg)
	return r2.Dot(v, a), v.X*a.Y - v.Y*a.X
}

// place is the inverse of turned: the point at along and across from origin.
func place(origin r2.Vec, bearingDeg, along, across float64) r2.Vec {
	a := plane.Toward(bearingDeg)
	right := r2.Vec{X: a.Y, Y: -a.X}
	return r2.Add(origin, r2.Add(r2.Scale(along, a), r2.Scale(across, right)))
}
