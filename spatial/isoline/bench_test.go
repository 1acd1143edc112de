package isoline

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"

	"leadline/spatial/raster"
)

// bay is an invented bottom of 2,000,000 cells with 20 levels.
func bay() (raster.Raster, []float64) {
	r := sampled(r2.Vec{}, 2, 2000, 1000, func(v r2.Vec) float64 {
		return 10 + 6*math.Sin(v.X/170)*math.Cos(v.Y/130) + 3*math.Sin((v.X+2*v.Y)/61) + 0.3*math.Sin(v.X/7)*math.Sin(v.Y/9)
	})
	var levels []float64
	for l := range 20 {
		levels = append(levels, 0.5+float64(l))
	}
	return r, levels
}

func BenchmarkLines(b *testing.B) {
	r, levels := bay()
	b.ReportAllocs()
	for b.Loop() {
		Lines(r, levels)
	}
}

func BenchmarkAreas(b *testing.B) {
	r, levels := bay()
	b.ReportAllocs()
	for b.Loop() {
		Areas(r, levels)
	}
}
