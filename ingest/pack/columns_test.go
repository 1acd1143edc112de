package pack

import (
	"math"
	"math/rand/v2"
	"strconv"
	"testing"
)

// day is the fixes of ten hours at 1 Hz.
const day = 36_000

// A column of whole numbers or of floats, made for tests and benchmarks.
type column struct {
	name   string
	ints   []int64
	floats []float64
}

func round(v float64, decimals int) float64 {
	s := math.Pow10(decimals)
	return math.Round(v*s) / s
}

// columns are made days of n rows, of the kinds that instruments write. The motion is a
// boat that drifts, trolls and runs by turns, with the fix noise of a common receiver: a
// slow part that wanders over metres, and a quick part of some centimetres.
func columns(n int) []column {
	r := rand.New(rand.NewPCG(3, 14))
	var (
		at, jitter                             []int64
		lat, lon, latMin, noisy                []float64
		feet, metres, speed, temp, full, power []float64
	)
	t := int64(1_750_000_000_000_000_000)
	x, y, heading, knots := 0.0, 0.0, 1.0, 0.5
	wx, wy, depth, water := 0.0, 0.0, 12.0, 18.0
	for i := range n {
		t += 1_000_000_000
		if r.IntN(4000) == 0 {
			t += int64(1+r.IntN(90)) * 1_000_000_000
		}
		at = append(at, t)
		jitter = append(jitter, t+int64(r.IntN(9)-4)*1_000_000)
		if i%1500 == 0 {
			knots = []float64{0.4, 2, 1, 9}[r.IntN(4)]
		}
		heading += 0.08 * r.NormFloat64()
		v := knots * 0.514 * (1 + 0.05*r.NormFloat64())
		x, y = x+v*math.Sin(heading), y+v*math.Cos(heading)
		wx, wy = 0.999*wx+0.03*r.NormFloat64(), 0.999*wy+0.03*r.NormFloat64()
		la := 44 + (y+wy+0.02*r.NormFloat64())/111_200
		lo := -88 + (x+wx+0.02*r.NormFloat64())/79_900
		lat, lon = append(lat, round(la, 7)), append(lon, round(lo, 7))
		noisy = append(noisy, round(la+2e-6*r.NormFloat64(), 7))
		m := round((la-44)*60, 4)
		latMin = append(latMin, 44+m/60)
		depth = math.Abs(depth + 0.1*r.NormFloat64())
		feet = append(feet, round(depth, 1)*0.3048)
		metres = append(metres, round(depth*0.3048+0.02*r.NormFloat64(), 2))
		speed = append(speed, round(v, 2))
		water += 0.002 * r.NormFloat64()
		temp = append(temp, round(water, 1))
		full = append(full, v*math.Sqrt2)
		power = append(power, float64(float32(12.6+0.05*r.NormFloat64())))
	}
	odd := append([]float64(nil), lat...)
	for i := 7; i < n; i += 997 {
		odd[i] = []float64{math.NaN(), math.Copysign(0, -1), math.Inf(1), lat[i] + 1e-13}[i%4]
	}
	return []column{
		{name: "time", ints: at}, {name: "time with jitter of ms", ints: jitter},
		{name: "lat", floats: lat}, {name: "lon", floats: lon}, {name: "lat, noise of 0.2 m", floats: noisy},
		{name: "lat of minutes", floats: latMin}, {name: "lat with odd values", floats: odd},
		{name: "depth of feet", floats: feet}, {name: "depth", floats: metres},
		{name: "speed", floats: speed}, {name: "temperature", floats: temp},
		{name: "volts, float32", floats: power}, {name: "full precision", floats: full},
	}
}

func (c column) pack() []byte {
	if c.ints != nil {
		return Ints(c.ints)
	}
	return Floats(c.floats)
}

func (c column) unpack(b []byte) (n int, err error) {
	if c.ints != nil {
		v, err := DecodeInts(b)
		return len(v), err
	}
	v, err := DecodeFloats(b)
	return len(v), err
}

// parse is k/10^d by way of its text.
func parse(t testing.TB, k int64, d int) float64 {
	t.Helper()
	v, err := strconv.ParseFloat(strconv.FormatInt(k, 10)+"e-"+strconv.Itoa(d), 64)
	if err != nil {
		t.Fatal(err)
	}
	return v
}
