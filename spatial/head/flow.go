package head

import (
	"fmt"
	"math"
	"slices"
)

// A Profile is the speed of the water past the boat over depth, in m/s, positive
// the way that sweeps the line behind the boat and negative where the water runs
// the other way. The zero Profile is still water.
type Profile struct {
	at      func(depthM float64) float64
	breaksM []float64 // increasing; where speed or slope jumps
}

// NewProfile makes a profile of a function of depth below the surface in
// metres. Depths where the speed or its slope jumps belong in breaksM, in any
// order: the solver steps up to each and starts anew, so that a jump costs no accuracy.
func NewProfile(at func(depthM float64) float64, breaksM ...float64) Profile {
	b := slices.Clone(breaksM)
	slices.Sort(b)
	return Profile{at: at, breaksM: b}
}

// SpeedMPS returns the speed at a depth below the surface.
func (p Profile) SpeedMPS(depthM float64) float64 {
	if p.at == nil {
		return 0
	}
	return p.at(depthM)
}

// Uniform is the same speed at every depth: a drift on still water.
func Uniform(speedMPS float64) Profile {
	return NewProfile(func(float64) float64 { return speedMPS })
}

// LinearShear changes evenly from the surface to a depth above 0 and stays there
// below it.
func LinearShear(surfaceMPS, lowerMPS, lowerDepthM float64) Profile {
	return NewProfile(func(z float64) float64 {
		return surfaceMPS + (lowerMPS-surfaceMPS)*min(z/lowerDepthM, 1)
	}, lowerDepthM)
}

// PowerLaw is the usual shape of a river's current: surface speed times
// (1-z/bed)^(1/n), n about 6 or 7 (Prandtl's one-seventh law), and still below the bed.
func PowerLaw(surfaceMPS, bedM, n float64) Profile {
	return NewProfile(func(z float64) float64 {
		return surfaceMPS * math.Pow(max(1-z/bedM, 0), 1/n)
	}, bedM)
}

// A Layer is water of one speed.
type Layer struct {
	ThicknessM float64
	SpeedMPS   float64
}

// Layered stacks layers from the surface down; the last one goes on below its
// thickness. It panics without a layer or with one that has no thickness.
func Layered(layers ...Layer) Profile {
	if len(layers) == 0 {
		panic("head: Layered needs a layer")
	}
	var feet []float64
	z := 0.0
	for _, l := range layers {
		if !(l.ThicknessM > 0) {
			panic(fmt.Sprintf("head: layer of thickness %v m", l.ThicknessM))
		}
		z += l.ThicknessM
		feet = append(feet, z)
	}
	ls := slices.Clone(layers)
	return NewProfile(func(z float64) float64 {
		for i, foot := range feet {
			if z < foot {
				return ls[i].SpeedMPS
			}
		}
		return ls[len(ls)-1].SpeedMPS
	}, feet...)
}
