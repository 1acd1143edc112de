package clean

import (
	"math"
	"slices"

	"leadline/ingest"
)

const (
	// Deepest lake there is, Baikal, 1642 m; a larger reading is a filler value.
	deepestLakeM = 1642

	// Hampel's rule: a reading is a spike when it lies more than spikeSigmas scaled
	// median absolute deviations from the median of the spikeHalf readings to
	// either side and itself (Hampel 1974; Davies & Gather 1993).
	spikeHalf   = 5
	spikeSigmas = 4
	madToSigma  = 1.4826 // for normal errors
	// Flat bottoms give a deviation of zero: readings this near are never spikes.
	// Half a metre, and a twentieth of the depth, is beyond sonar noise and within
	// what a ledge does between two readings.
	leastSpikeM     = 0.5
	leastSpikeShare = 0.05

	// A second echo reads twice the depth, give or take the keel's own depth and noise.
	doubleHalf = 15
	doubleLow  = 1.8
	doubleHigh = 2.2
	doubleEdge = 1.5 // a slope never rises by this factor between two readings

	// Readings farther apart in time than this are not neighbours.
	neighbourS = 60
)

// Soundings flags the readings of one log, in place. The log must be in time
// order where it has times; readings without a time count as evenly spaced.
// transducerM is the transducer's depth below the surface, 0 when not known.
//
// Steps: readings of zero or less, beyond any lake's depth, and, where depths are
// from the surface, above the transducer; then second echoes, which come in runs entered and left by a jump of half or more; then
// single spikes by Hampel's rule on what is left. By hand: 3.2 3.1 3.4 9.8 3.5
// 3.3 3.6 has median 3.4 and a scaled deviation of 0.30, so that 9.8 is flagged.
// Cost: linear in readings, times the window's size.
//
// What it does badly: a second echo that lasts longer than half its window is
// taken for the bottom, and one right at a drop-off is taken for the drop.
func Soundings(s []ingest.Sounding, transducerM float64) {
	sound := make([]int, 0, len(s))
	for i := range s {
		switch {
		case s[i].DepthM <= 0:
			s[i].Flags |= ingest.SoundingNoBottom
		case s[i].DepthM > deepestLakeM:
			s[i].Flags |= ingest.SoundingTooDeep
		case s[i].Ref == ingest.BelowSurface && s[i].DepthM < transducerM:
			s[i].Flags |= ingest.SoundingTooShallow
		default:
			sound = append(sound, i)
		}
	}
	sound = doubles(s, sound)
	spikes(s, sound)
}

// doubles flags second echoes and returns the readings left.
func doubles(s []ingest.Sounding, sound []int) []int {
	depth := func(k int) float64 { return s[sound[k]].DepthM }
	var window []float64
	isDouble, some := make([]bool, len(sound)), false
	depths := depthsOf(s, sound)
	around := newBlocks(depths)
	for k := range sound {
		if least, _ := around.extremes(k, doubleHalf); depths[k]/least <= doubleLow {
			continue
		}
		// The median is no less than the least: on most bottoms that is all that must be known.
		if least, _ := extremes(depths, k, doubleHalf); depths[k]/least <= doubleLow {
			continue
		}
		window = neighbours(s, sound, k, doubleHalf, window[:0])
		ratio := depth(k) / median(window)
		isDouble[k] = ratio > doubleLow && ratio < doubleHigh
		some = some || isDouble[k]
	}
	if !some {
		return sound
	}
	kept := make([]int, 0, len(sound))
	for from := 0; from < len(sound); {
		if !isDouble[from] {
			kept = append(kept, sound[from])
			from++
			continue
		}
		to := from
		for to < len(sound) && isDouble[to] {
			to++
		}
		jumpIn := from == 0 || depth(from)/depth(from-1) > doubleEdge
		jumpOut := to == len(sound) || depth(to-1)/depth(to) > doubleEdge
		for k := from; k < to; k++ {
			if jumpIn && jumpOut {
				s[sound[k]].Flags |= ingest.SoundingDouble
			} else {
				kept = append(kept, sound[k])
			}
		}
		from = to
	}
	return kept
}

// spikes flags single readings by Hampel's rule.
func spikes(s []ingest.Sounding, sound []int) {
	var window []float64
	depths := depthsOf(s, sound)
	around := newBlocks(depths)
	for k, i := range sound {
		if least, most := around.extremes(k, spikeHalf); depths[k]-least <= leastSpikeM && most-depths[k] <= leastSpikeM {
			continue
		}
		// The median lies between the least and the greatest.
		if least, most := extremes(depths, k, spikeHalf); depths[k]-least <= leastSpikeM && most-depths[k] <= leastSpikeM {
			continue
		}
		window = neighbours(s, sound, k, spikeHalf, window[:0])
		if len(window) < 3 {
			continue
		}
		m := median(window)
		for j, v := range window {
			window[j] = math.Abs(v - m)
		}
		off := math.Abs(s[i].DepthM - m)
		if off > spikeSigmas*madToSigma*median(window) && off > math.Max(leastSpikeM, leastSpikeShare*m) {
			s[i].Flags |= ingest.SoundingSpike
		}
	}
}

func depthsOf(s []ingest.Sounding, sound []int) []float64 {
	depths := make([]float64, len(sound))
	for k, i := range sound {
		depths[k] = s[i].DepthM
	}
	return depths
}

// extremes returns the least and greatest depth of reading k and of half readings to either side, near it in time or not.
func extremes(depths []float64, k, half int) (least, most float64) {
	near := depths[max(0, k-half):min(len(depths), k+half+1)]
	least, most = near[0], near[0]
	for _, d := range near[1:] {
		least, most = min(least, d), max(most, d)
	}
	return least, most
}

// blocks are the least and greatest depth of each blockSize readings: where these are enough, no reading by itself is looked at.
type blocks struct{ least, most []float64 }

const blockSize = 16

func newBlocks(depths []float64) blocks {
	n := (len(depths) + blockSize - 1) / blockSize
	b := blocks{make([]float64, n), make([]float64, n)}
	for i := range n {
		part := depths[i*blockSize : min(len(depths), (i+1)*blockSize)]
		b.least[i], b.most[i] = slices.Min(part), slices.Max(part)
	}
	return b
}

// extremes returns the least and greatest depth of more readings than the function of this name, these among them.
func (b blocks) extremes(k, half int) (least, most float64) {
	from, to := max(0, k-half)/blockSize, min(len(b.least)-1, (k+half)/blockSize)
	least, most = b.least[from], b.most[from]
	for i := from + 1; i <= to; i++ {
		least, most = min(least, b.least[i]), max(most, b.most[i])
	}
	return least, most
}

// neighbours appends to window the depths of reading k and of up to half
// readings to either side that are near it in time.
func neighbours(s []ingest.Sounding, sound []int, k, half int, window []float64) []float64 {
	at := s[sound[k]].Time
	for j := max(0, k-half); j <= min(len(sound)-1, k+half); j++ {
		if t := s[sound[j]].Time; !at.IsZero() && !t.IsZero() && math.Abs(t.Sub(at).Seconds()) > neighbourS {
			continue
		}
		window = append(window, s[sound[j]].DepthM)
	}
	return window
}

// median sorts v and returns its middle, the mean of two for an even number.
func median(v []float64) float64 {
	slices.Sort(v)
	n := len(v)
	if n%2 == 1 {
		return v[n/2]
	}
	return (v[n/2-1] + v[n/2]) / 2
}
