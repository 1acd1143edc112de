package export

import "leadline/ingest/si"

// DeepFishM is the depth in metres from which fish brought up may be hurt by the
// pressure change: about 30 ft. Common practice, no source.
const DeepFishM = 30 * si.FootM

// DeepFishCaution is shown with every zone whose fish are deeper than DeepFishM.
func DeepFishCaution(u si.System) string {
	return "Fish brought up from deeper than about " + u.Depth(DeepFishM) +
		" may be hurt by the pressure change: follow the local agency's advice on release."
}

// Cautions are the sentences that go with every output a person reads.
func Cautions(u si.System) []string {
	return []string{
		"Not for navigation. The bottom was drawn from one boat's soundings; between them it is a guess, and hazards may be missing.",
		"Local fishing rules, rules on lead, local agencies and licensed practice come first. Some waters restrict lead heads.",
		"Depth changes with the water level. Depths are at the level of the latest day unless another was given.",
		DeepFishCaution(u),
	}
}
