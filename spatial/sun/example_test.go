package sun_test

import (
	"fmt"
	"time"

	"github.com/paulmach/orb"

	"leadline/spatial/sun"
)

// Lawful hours from sunrise to sunset; some go by twilight.
func Example() {
	const date = "2024-06-20"
	at := orb.Point{-93.27, 45}
	zone := time.FixedZone("", -5*3600)
	rise, ok := sun.Rise(date, at)
	set, _ := sun.Set(date, at)
	fmt.Println(rise.In(zone).Format("15:04"), set.In(zone).Format("15:04"), ok)
	dawn, dusk, ok := sun.Twilight(date, at)
	fmt.Println(dawn.In(zone).Format("15:04"), dusk.In(zone).Format("15:04"), ok)
	// Output:
	// 05:26 21:03 true
	// 04:48 21:40 true
}
