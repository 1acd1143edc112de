package ingest

// Corrections is what turns a recorded depth into one below the surface, in this
// order, each off unless known:
//
//  1. Speed of sound. A sounder times the echo and assumes a speed, 1500 m/s as a
//     rule. Where it is known what it assumes and how warm the water is, the
//     depth is multiplied by true speed over assumed speed (fresh water, Marczak
//     1997). By hand: 10 m shown at 10 °C by a sounder that assumes 1500 m/s is
//     9.65 m.
//  2. Transducer. Its own depth is added to a depth below it.
//
// The third correction, the day's water level, needs the level that the chart is
// for: package spatial/analyse makes it, by AtLevel.
type Corrections struct {
	TransducerM float64 // depth of the transducer below the surface; 0: not known or none
	SounderMPS  Maybe   // speed of sound that the sounder assumes; unknown: off
}

// SurfaceM returns the depth of a sounding below the surface of its day, in metres.
func (c Corrections) SurfaceM(s Sounding) float64 {
	m := s.DepthM
	transducerM := 0.0
	if s.Ref == BelowTransducer {
		transducerM = c.TransducerM
	}
	if !c.SounderMPS.OK || !s.TempC.OK || s.TempC.V < leastMarczakC || s.TempC.V > mostMarczakC {
		return m + transducerM
	}
	return m*SoundMPS(s.TempC.V)/c.SounderMPS.V + transducerM
}

// AtLevel returns a depth below the surface of a day as it is when the water
// stands at another level, all in metres.
func AtLevel(surfaceM, dayLevelM, chartLevelM float64) float64 {
	return surfaceM + chartLevelM - dayLevelM
}

// The formula below holds between these temperatures.
const leastMarczakC, mostMarczakC = 0, 95

// SoundMPS returns the speed of sound in fresh water at a temperature in °C, from
// 0 to 95, at atmospheric pressure: W. Marczak, Water as a standard in the
// measurements of speed of sound in liquids, J. Acoust. Soc. Am. 102, 1997
// (coefficients from memory, held by the test against values computed elsewhere).
// Depth adds about 0.016 m/s a metre, which no lake makes felt.
func SoundMPS(tempC float64) float64 {
	c := 0.0
	for _, k := range [...]float64{2.787860e-9, -1.398845e-6, 3.287156e-4, -5.799136e-2, 5.038813, 1.402385e3} {
		c = c*tempC + k
	}
	return c
}
