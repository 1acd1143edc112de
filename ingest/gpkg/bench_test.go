package gpkg

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/paulmach/orb"
)

// BenchmarkInsertPoints measures points a second in one transaction: coding, checks,
// spatial index, extent and commit to the disk. "fresh" fills a new layer, "again"
// adds as many to one that has 100,000, "few" adds 2,000 to one that has 100,000.
func BenchmarkInsertPoints(b *testing.B) {
	for _, c := range []struct {
		name      string
		have, add int
	}{{"fresh", 0, 100_000}, {"again", 100_000, 100_000}, {"few", 100_000, 2_000}} {
		b.Run(c.name, func(b *testing.B) {
			for b.Loop() {
				b.StopTimer()
				f := made(b, pointLayer("fixes"))
				r := rand.New(rand.NewPCG(1, 2))
				put(b, f, r, c.have)
				b.StartTimer()
				put(b, f, r, c.add)
				b.StopTimer()
				f.Close()
				b.StartTimer()
			}
			b.ReportMetric(float64(c.add)*float64(b.N)/b.Elapsed().Seconds(), "points/s")
		})
	}
}

// put adds n points of a wandering track.
func put(t testing.TB, f *File, r *rand.Rand, n int) {
	t.Helper()
	update(t, f, func(tx *Tx) error {
		p := orb.Point{-88, 44}
		for i := range n {
			p[0] += (r.Float64() - 0.5) * 1e-4
			p[1] += (r.Float64() - 0.5) * 1e-4
			if _, err := tx.Insert("fixes", Encode(p, WGS84), float64(i%30)/3, i, fmt.Sprint("n", i%7)); err != nil {
				return err
			}
		}
		return nil
	})
}

// BenchmarkMeasure is what a deletion adds to its Update: every shape read once.
func BenchmarkMeasure(b *testing.B) {
	f := made(b, pointLayer("fixes"))
	const n = 100_000
	put(b, f, rand.New(rand.NewPCG(1, 2)), n)
	for b.Loop() {
		update(b, f, func(tx *Tx) error {
			t, err := tx.table("fixes")
			if err != nil {
				return err
			}
			return tx.measure(t)
		})
	}
	b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds(), "shapes/s")
}
