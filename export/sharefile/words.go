package sharefile

import (
	"fmt"

	"leadline/export"
	"leadline/spatial"
)

// A Section is some plain sentences under a heading.
type Section struct {
	Heading string
	Lines   []string
}

// Words says, for the person who shares, what is in the file, what was left out, and what
// a receiver can still tell. It names the zones by their own ids, so it is not for the
// receiver. Errors are those of Features.
func Words(c spatial.Chart, opt Options) ([]Section, error) {
	zones, err := Pick(c, opt.Zones)
	if err != nil {
		return nil, err
	}
	if _, err := share(c, opt); err != nil {
		return nil, err
	}
	in := Section{Heading: fmt.Sprintf("In the file: %s of %d", export.Plural(len(zones), "zone"), len(c.Zones))}
	for i, z := range zones {
		line := Letters(i) + " is " + z.ID
		if !z.Proven {
			line += ", which is not proven; the file doesn't say so"
		}
		in.Lines = append(in.Lines, line)
	}
	left := Section{Heading: "Left out", Lines: []string{
		"catches, bites and marks: places, times, kinds, species, counts",
		"how often and how long you fished, rates, chances, days and their water levels",
		"tracks, drift lines, soundings, contours, depth bands, all other zones",
		"your ids and names of the zones, notes, names of files, boat, tackle and settings, and when the file was made",
	}}
	tell := Section{Heading: "What a receiver can still tell"}
	if !opt.CoarseM.OK {
		in.Lines = append(in.Lines, "of each: the outline, depth of fish and bottom, structure, nearest break, hours of the day, drift, head")
		tell.Lines = []string{
			"an outline is your spot: whoever has the file has the place, and can pass it on",
			"these are some of your better places, the best of them first",
			"hours, drift and head tell how you fish there, and at what time of day",
		}
		return []Section{in, left, tell}, nil
	}
	u := opt.Units
	in.Lines = append(in.Lines, fmt.Sprintf("of each: a disc of %s about a shifted middle, depth of fish, hours of the day, head", u.Distance(opt.CoarseM.V)))
	left.Lines = append(left.Lines, "for a disc also: the outline, bottom, structure, break, drift")
	tell.Lines = []string{
		"a zone is somewhere in each disc, the whole of it; its middle is no nearer to the disc's than " + u.Distance(nearShare*opt.CoarseM.V),
		"how deep the fish were: with a map of depths that rules out the parts of a disc that are land or too shallow",
		"these are some of your better places, the best of them first",
		"discs close together may be shifted alike, and then show how their zones lie to each other",
		"sharing the same season again gives the same discs, and a later day moves a disc as little as its zone, so the mean of many tells hardly more; " +
			"now and then a zone that moves gets another disc",
		"discs of another radius or of a part of the season are other ones, and so are all after an earlier day was added or the first day's catches were " +
			"corrected: the zone is where a receiver's discs overlap, so share one radius, of the whole season",
		"the shift is drawn from the catches and marks of the season's first day: who has those, or kept a log of their own aboard, " +
			"can work out where the zones are; the fewer there are, the easier they are to guess",
	}
	if !anyTimed(c) {
		tell.Lines = append(tell.Lines, "no catch or mark has a time, so the shift is drawn from all of them and is another one after every day: share once only")
	}
	return []Section{in, left, tell}, nil
}

func anyTimed(c spatial.Chart) bool {
	for _, e := range c.Events {
		if !e.Time.IsZero() {
			return true
		}
	}
	return false
}
