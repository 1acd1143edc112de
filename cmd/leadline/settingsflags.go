package main

import (
	"strings"

	"github.com/spf13/pflag"

	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
	"leadline/spatial/analyse"
)

// placeFlags are what a person may set about how places, hours and bands of depth are found.
type placeFlags struct {
	cast, bands, frenzy *quantity
	weights             weightsFlag
	crawling            crawlFlag
	minEvents           int
	seed                uint64
}

func (f *placeFlags) add(flags *pflag.FlagSet) {
	f.cast = newQuantity(si.Length, 1)
	f.frenzy = newQuantity(si.Duration, 0)
	f.bands = newQuantity(si.Length, 0.1)
	flags.Var(f.cast, "cast", "how far a cast reaches (default the boat file's, or 25m)")
	flags.Var(&f.weights, "weigh", "what a catch, bite, mark or bait counts, such as mark=0.5,bait=0 (default 1 each)")
	flags.Var(&f.crawling, "crawling", "whether slowly under the motor is fishing: "+strings.Join(spatial.CrawlRules(), ", ")+" (default by-catch)")
	flags.IntVar(&f.minEvents, "min-events", 4, "fewer catches and marks than this are no zone")
	flags.Var(f.frenzy, "frenzy", "catches of one stop no farther apart than this prove no more than one (default 3min)")
	flags.Var(f.bands, "bands", "least height of a depth band; its edges are whole steps of it (default 5ft or 1.5m)")
}

// check tells what is out of range.
func (f *placeFlags) check() error {
	if f.minEvents < 2 {
		return usagef("--min-events: %d is too few, a zone takes at least 2", f.minEvents)
	}
	return nil
}

// settings returns the defaults for the boat with what the flags say instead.
func (f *placeFlags) settings(boat ingest.Boat) spatial.Settings {
	s := analyse.Defaults(boat)
	s.CastM = f.cast.or(s.CastM)
	s.Weights = f.weights.or(s.Weights)
	s.Crawling = spatial.CrawlRule(f.crawling)
	s.FrenzyS = f.frenzy.or(s.FrenzyS)
	s.BandM = f.bands.or(s.BandM)
	s.MinEvents, s.Seed = f.minEvents, f.seed
	return s
}

// settingsFlags are what a person may set about the whole analysis.
type settingsFlags struct {
	placeFlags
	pool, cell, reach, contour *quantity
	simulations                int
}

// add adds the flags; pool says what the water level is that of.
func (f *settingsFlags) add(flags *pflag.FlagSet, pool string) {
	f.pool = newQuantity(si.Length, -1e9)
	f.cell = newQuantity(si.Length, 0.5)
	f.reach = newQuantity(si.Length, 0.5)
	f.contour = newQuantity(si.Length, 0.05)
	flags.Var(f.pool, "pool", pool)
	f.placeFlags.add(flags)
	flags.Var(f.contour, "contour", "interval between contours (default 2ft or 0.5m)")
	flags.Var(f.cell, "cell", "side of a cell of the depth grid (default 5m, or as much as the soundings lie apart)")
	flags.Var(f.reach, "reach", "show no depth farther than this from a sounding (default 30m)")
	flags.IntVar(&f.simulations, "simulations", 999, "seasons of even fishing simulated for the p-values; 0 for none, and no zone proven")
	flags.Uint64Var(&f.seed, "seed", 1, "seed of the simulations")
}

// check tells what is out of range.
func (f *settingsFlags) check() error {
	if err := f.placeFlags.check(); err != nil {
		return err
	}
	if f.simulations != 0 && f.simulations < 19 || f.simulations > 1e6 {
		return usagef("--simulations: %d is out of range, wanted 19 to 1000000 (with fewer no p-value can be below 0.05), or 0 for none", f.simulations)
	}
	return nil
}

// settings returns the defaults for the boat with what the flags say instead.
func (f *settingsFlags) settings(boat ingest.Boat) spatial.Settings {
	s := f.placeFlags.settings(boat)
	s.CellM = f.cell.or(s.CellM)
	s.ReachM = f.reach.or(s.ReachM)
	s.ContourM = f.contour.or(s.ContourM)
	s.Simulations = f.simulations
	if s.PoolM = f.pool.value; !s.PoolM.OK {
		s.PoolM = boat.PoolM
	}
	return s
}
