package surface

import (
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

func benchmark(b *testing.B, m Method, n int) {
	points := scatter(rand.New(rand.NewPCG(15, 16)), n, 20, func(v r2.Vec) float64 { return v.X / 10 })
	for i := range points {
		points[i].Var = 0.01
	}
	var scratch Scratch
	b.ReportAllocs()
	for b.Loop() {
		m.Estimate(r2.Vec{X: 1, Y: 2}, points, &scratch)
	}
}

func BenchmarkInverseDistance(b *testing.B) { benchmark(b, InverseDistance{Power: 2, SoftM: 2.5}, 30) }
func BenchmarkQuadratic(b *testing.B) {
	benchmark(b, Quadratic{SoftM: 5, SlopeSD: 0.1, CurveSD: 0.01}, 30)
}
func BenchmarkKriging(b *testing.B) { benchmark(b, Kriging{Variogram{Spherical, 0.01, 1, 60}}, 16) }
