package si

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// System is the units a person reads in.
type System uint8

// The systems.
const (
	US     System = iota // ft, mph, oz, °F
	Metric               // m, m/s, g, °C
)

// Depth prints metres as "24 ft" or "7.3 m".
func (s System) Depth(m float64) string {
	if s == Metric {
		return number(m, 1) + " m"
	}
	return number(m/FootM, 0) + " ft"
}

// DepthRange prints two depths with one unit: "18 to 24 ft".
func (s System) DepthRange(topM, bottomM float64) string {
	if s == Metric {
		return number(topM, 1) + " to " + number(bottomM, 1) + " m"
	}
	return number(topM/FootM, 0) + " to " + number(bottomM/FootM, 0) + " ft"
}

// Distance prints metres along the ground as "120 yd", "1.3 mi", "110 m" or "2.1 km".
func (s System) Distance(m float64) string {
	if s == Metric {
		if m < 1000 {
			return number(m, 0) + " m"
		}
		return number(m/1000, 1) + " km"
	}
	if m < 0.25*MileM {
		return number(m/(3*FootM), 0) + " yd"
	}
	return number(m/MileM, 1) + " mi"
}

// Area prints square metres as "12 acres" or "4.9 ha"; an acre is 43,560 square feet.
func (s System) Area(m2 float64) string {
	v, unit := m2/1e4, " ha"
	if s != Metric {
		v, unit = m2/(43560*FootM*FootM), " acres"
	}
	if v < 9.95 {
		return number(v, 1) + unit
	}
	return number(v, 0) + unit
}

// Speed prints metres per second as "0.5 mph" or "0.22 m/s".
func (s System) Speed(mps float64) string {
	if s == Metric {
		return number(mps, 2) + " m/s"
	}
	return number(mps/MPHMPS, 1) + " mph"
}

// SpeedFine prints metres per second with a figure more than Speed, for limits
// that would otherwise read like the speed they were missed by.
func (s System) SpeedFine(mps float64) string {
	if s == Metric {
		return number(mps, 3) + " m/s"
	}
	return number(mps/MPHMPS, 2) + " mph"
}

// Mass prints kilograms of a head as "3/8 oz" or "10.6 g".
func (s System) Mass(kg float64) string {
	if s == Metric {
		return number(kg*1000, 1) + " g"
	}
	return Ounces(kg) + " oz"
}

// Temp prints degrees Celsius as "64 °F" or "17.8 °C".
func (s System) Temp(c float64) string {
	if s == Metric {
		return number(c, 1) + " °C"
	}
	return number(c*9/5+32, 0) + " °F"
}

// Ounces prints kilograms in ounces, as a fraction when it is a sixty-fourth or
// coarser to within 1 %: "3/8", "1 1/2", "0.53".
func Ounces(kg float64) string {
	oz := kg / OunceKg
	for _, under := range []float64{1, 2, 4, 8, 16, 32, 64} {
		over := math.Round(oz * under)
		if over < 1 || math.Abs(over/under-oz) > 0.01*oz {
			continue
		}
		whole, rest := math.Floor(over/under), math.Mod(over, under)
		switch {
		case rest == 0:
			return strconv.Itoa(int(whole))
		case whole == 0:
			return fmt.Sprintf("%d/%d", int(rest), int(under))
		}
		return fmt.Sprintf("%d %d/%d", int(whole), int(rest), int(under))
	}
	return number(oz, 2)
}

// Clock prints hours of the day as "06:30".
func Clock(hours float64) string {
	min := int(math.Round(hours * 60))
	return fmt.Sprintf("%02d:%02d", min/60%24, min%60)
}

// number prints v with at most the given decimals, and never "-0".
func number(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Trim(s, "-0.") == "" {
		return strings.TrimPrefix(s, "-")
	}
	return s
}
