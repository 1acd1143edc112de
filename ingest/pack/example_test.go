package pack_test

import (
	"errors"
	"fmt"

	"leadline/ingest/pack"
)

func Example() {
	depthFt := []float64{12.1, 12.1, 12.2, 12.4}
	blob := pack.Floats(depthFt)
	back, err := pack.DecodeFloats(blob)
	fmt.Println(len(blob), back, err)

	_, err = pack.DecodeFloats(blob[:5])
	fmt.Println(errors.Is(err, pack.ErrDamaged), err)
	// Output:
	// 11 [12.1 12.1 12.2 12.4] <nil>
	// true whole numbers of a packed column damaged: first value: bytes end inside a number
}

func ExampleInts() {
	secondsAsNs := []int64{1_000_000_000, 2_000_000_000, 3_000_000_000, 5_000_000_000}
	fmt.Printf("% x\n", pack.Ints(secondsAsNs))
	// Output: 11 04 80 a8 d6 b9 07 80 94 eb dc 03 02 02 04
}
