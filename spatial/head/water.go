package head

import "math"

// GravityMPS2 is standard gravity, exact by definition (CGPM 1901).
const GravityMPS2 = 9.80665

// Water is what the models need to know of it.
type Water struct {
	DensityKgM3   float64
	ViscosityM2PS float64 // kinematic, m²/s
}

// WaterAt returns fresh, air-free water at a temperature in °C and one atmosphere.
//
// Density: Tanaka et al. 2001 (Metrologia 38, 301, equation 1). Viscosity: the
// IAPWS reference formula for 0.1 MPa (Pátek et al. 2009, J. Phys. Chem. Ref.
// Data 38, 21), divided by that density. From 0 to 40 °C both are far better
// than anything else here: 1e-6 and 1 %. Outside that range they run on smoothly
// but mean nothing; boatfile keeps temperatures inside it. Salt is ignored:
// the sea's 2.5 % more density lowers a lead head's weight in water by 0.2 %.
// Handbook values are checked in TestWaterAgainstHandbooks.
func WaterAt(tempC float64) Water {
	t := tempC
	rho := 999.974950 * (1 - (t-3.983035)*(t-3.983035)*(t+301.797)/(522528.9*(t+69.34881)))
	k := (t + 273.15) / 300
	mu := 1e-6 * (280.68*math.Pow(k, -1.9) + 511.45*math.Pow(k, -7.7) +
		61.131*math.Pow(k, -19.6) + 0.45903*math.Pow(k, -40))
	return Water{DensityKgM3: rho, ViscosityM2PS: mu / rho}
}
