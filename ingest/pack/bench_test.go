package pack

import "testing"

// BenchmarkPack and BenchmarkUnpack: values a second of each made column of a day, and
// bytes a row.
func BenchmarkPack(b *testing.B) {
	for _, c := range columns(day) {
		b.Run(c.name, func(b *testing.B) {
			var blob []byte
			for b.Loop() {
				blob = c.pack()
			}
			b.ReportMetric(float64(day)*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mvalues/s")
			b.ReportMetric(float64(len(blob))/day, "B/row")
		})
	}
}

func BenchmarkUnpack(b *testing.B) {
	for _, c := range columns(day) {
		b.Run(c.name, func(b *testing.B) {
			blob := c.pack()
			for b.Loop() {
				if _, err := c.unpack(blob); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(day)*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mvalues/s")
		})
	}
}

// BenchmarkUnpackPlain: values a second where nothing is deflated, by order.
func BenchmarkUnpackPlain(b *testing.B) {
	for _, c := range columns(day) {
		if c.name != "lat, noise of 0.2 m" {
			continue
		}
		v := make([]int64, day)
		for i, x := range c.floats {
			v[i] = int64(x * 1e7)
		}
		q := make([]uint64, day)
		for i, x := range v {
			q[i] = uint64(x - v[0])
		}
		for order := 1; order < 3; order++ {
			b.Run(string(rune('0'+order)), func(b *testing.B) {
				blob := appendHeader(nil, codeInts+byte(order), day)
				blob = appendDifferences(append(blob, 0, 1), q, order)
				for b.Loop() {
					if _, err := DecodeInts(blob); err != nil {
						b.Fatal(err)
					}
				}
				b.ReportMetric(day*float64(b.N)/b.Elapsed().Seconds()/1e6, "Mvalues/s")
				b.ReportMetric(float64(len(blob))/day, "B/row")
			})
		}
	}
}
