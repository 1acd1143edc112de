package main

import (
	"fmt"
	"io"
	"math"
	"slices"
	"text/tabwriter"

	"github.com/spf13/cobra"

	"leadline/export"
	"leadline/export/resultfile"
	"leadline/ingest"
	"leadline/ingest/boatfile"
	"leadline/ingest/si"
	"leadline/spatial"
	"leadline/spatial/head"
)

// headsFlags are the flags of heads.
type headsFlags struct {
	depth, top, speed, deep, reel, out, diameter, trailer, sink, water *quantity
	material, metal                                                    string
	angleDeg                                                           float64
}

func (a *app) heads() *cobra.Command {
	f := &headsFlags{
		depth:    newQuantity(si.Length, 0),
		top:      newQuantity(si.Length, 0),
		speed:    newQuantity(si.Speed, 0),
		deep:     newQuantity(si.Speed, -10),
		reel:     newQuantity(si.Speed, 0.01),
		out:      newQuantity(si.Length, 0.5),
		diameter: newQuantity(si.Length, 1e-5),
		trailer:  newQuantity(si.Length, 1e-3),
		sink:     newQuantity(si.Duration, 0.1),
		water:    newQuantity(si.Temperature, 0),
	}
	c := &cobra.Command{
		Use:   "heads --depth D --speed S",
		Short: "Show what each head of the box does at a depth and drift speed",
		Long: `heads needs no recording. For every head of the box it shows the time down to the
depth, the line that must be out to stay there at that drift speed in still
water, and the line's angle at the rod; it marks the lightest head that is down
in time and near enough to vertical. Some waters restrict lead: check local rules.`,
		Example: `  leadline heads --depth 24ft --speed 0.5mph
  leadline heads --depth 7.5m --speed 0.25m/s --line 0.20mm --material braid --trailer 3in
  leadline heads --depth 30ft --speed 0.8kn --json`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("heads takes no files, got %q", args[0])
			}
			return nil
		},
		RunE: func(*cobra.Command, []string) error { return a.runHeads(f) },
	}
	flags := c.Flags()
	flags.SortFlags = false
	flags.Var(f.depth, "depth", "depth of the fish below the surface, their lower edge")
	flags.Var(f.top, "top", "upper edge of the fish, which a retrieve must stay below (default --depth)")
	flags.Var(f.speed, "speed", "drift speed through the water")
	flags.Var(f.deep, "deep-speed", "the same at the fish, where the water below runs otherwise; evenly changing between (default as at the surface)")
	flags.Var(f.diameter, "line", "diameter of the line, for all heads (default the boat file's lines)")
	flags.StringVar(&f.material, "material", "", "`NAME` of what --line is made of: "+boatfile.Materials())
	flags.StringVar(&f.metal, "metal", "", "`NAME` of what the heads are made of: "+boatfile.Metals()+" (default the boat file's, or lead)")
	flags.Var(f.trailer, "trailer", "length of the trailer, for all heads (default the boat file's)")
	flags.Var(f.reel, "reel", "retrieve to tell the depth for (default the boat file's, or 1.5mph)")
	flags.Var(f.out, "line-out", "line out at the start of the retrieve (default the boat file's cast, or 25m)")
	flags.Var(f.sink, "max-sink", "back down within this time (default the boat file's, or 20s)")
	flags.Float64Var(&f.angleDeg, "max-angle", 0, "line at the rod within these `DEGREES` of vertical (default the boat file's, or 45)")
	flags.Var(f.water, "water-temp", "water temperature (default the boat file's)")
	return c
}

func (a *app) runHeads(f *headsFlags) error {
	if !f.depth.value.OK || !f.speed.value.OK {
		return usagef("heads needs --depth and --speed, such as --depth 24ft --speed 0.5mph")
	}
	boat, err := a.readBoat()
	if err != nil {
		return err
	}
	tackle, err := f.tackle(boat.Tackle)
	if err != nil {
		return err
	}
	if f.top.value.OK && f.top.value.V > f.depth.value.V {
		return usagef("--top %s lies below --depth %s: it is the upper edge of the fish", units(boat).Depth(f.top.value.V), units(boat).Depth(f.depth.value.V))
	}
	choice := head.ChooseAt(head.Place{TopM: f.top.value, BottomM: f.depth.value, SpeedMPS: f.speed.value, DeepMPS: f.deep.value}, tackle)
	choice.Stand = head.Stand(choice, spatial.HeadDoubt{DepthM: typedDepthSDM, SpeedMPS: typedSpeedSD * f.speed.value.V}, tackle)
	if a.common.json {
		return resultfile.WriteHeads(a.out, choice, units(boat))
	}
	return printHeads(a.out, choice, tackle, units(boat))
}

// tackle returns the box with what the flags say instead.
func (f *headsFlags) tackle(t ingest.Tackle) (ingest.Tackle, error) {
	if f.diameter.value.OK != (f.material != "") {
		return t, usagef("--line and --material go together, such as --line 0.20mm --material braid")
	}
	if f.diameter.value.OK {
		density, ok := boatfile.MaterialKgM3(f.material)
		if !ok {
			return t, usagef("--material: %q is not one of %s", f.material, boatfile.Materials())
		}
		t.Lines = []ingest.LineRule{{UpToKg: math.MaxFloat64, Line: ingest.Line{
			Name: f.material, DiameterM: f.diameter.value.V, DensityKgM3: density,
		}}}
	}
	if f.metal != "" {
		density, ok := boatfile.MetalKgM3(f.metal)
		if !ok {
			return t, usagef("--metal: %q is not one of %s", f.metal, boatfile.Metals())
		}
		t.Heads = slices.Clone(t.Heads)
		for i := range t.Heads {
			t.Heads[i].DensityKgM3 = density
		}
	}
	if f.trailer.value.OK {
		t.Trailers = []ingest.TrailerRule{{UpToKg: math.MaxFloat64, LengthM: f.trailer.value.V}}
	}
	if f.angleDeg != 0 {
		if f.angleDeg < 1 || f.angleDeg > 85 {
			return t, usagef("--max-angle: %g is out of range, wanted 1 to 85 degrees from vertical", f.angleDeg)
		}
		t.MaxAngleDeg = f.angleDeg
	}
	t.MaxSinkS = f.sink.or(t.MaxSinkS)
	t.WaterC = f.water.or(t.WaterC)
	t.ReelMPS, t.CastM = f.reel.or(t.ReelMPS), f.out.or(t.CastM)
	return t, nil
}

// How well a depth and a drift speed are known that someone types: a foot, and a tenth; reasoned.
const (
	typedDepthSDM = si.FootM
	typedSpeedSD  = 0.1
)

// printHeads prints the table with the pick marked, and why it is the pick.
func printHeads(w io.Writer, c spatial.HeadChoice, tackle ingest.Tackle, u si.System) error {
	fmt.Fprintf(w, "At %s, drifting at %s: down within %.0f s, line within %.0f° of vertical\n\n",
		u.Depth(c.DepthM.V), u.Speed(c.SpeedMPS.V), tackle.MaxSinkS, tackle.MaxAngleDeg)
	t := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintf(t, "\thead\tline\tdown in\tline out\tbehind\tangle\ta fish every\tat %s\treel up to\t\n", u.Speed(tackle.ReelMPS))
	inBand := "at that depth"
	if c.TopM.OK {
		inBand = "below " + u.Depth(c.TopM.V)
	}
	for i, x := range c.Trials {
		mark := ""
		if c.Picked && i == c.Pick {
			mark = ">"
		}
		out, behind, angle, runs := "-", "-", "-", "-"
		if x.LineOutM.OK {
			out, behind, angle = u.Depth(x.LineOutM.V), u.Depth(x.TrailM.V), fmt.Sprintf("%.1f°", x.AngleDeg.V)
		}
		if x.ReelDepthM.OK {
			runs = u.Depth(x.ReelDepthM.V)
		}
		fmt.Fprintf(t, "%s\t%s\t%s\t%.1f s\t%s\t%s\t%s\t%.0f s\t%s\t%s\t%s\n", mark, u.Mass(x.Head.MassKg), export.LineWords(x.Line, u), x.SinkS,
			out, behind, angle, x.CycleS, runs, export.ReelWords(c, x, u), export.VerdictWords(x, mark != ""))
	}
	t.Flush()
	_, err := fmt.Fprintf(w, `
%s

A fish every: down, a fish up at %s, %.0f s to unhook it. With the boat still and %s of line out, reeled at %s a head
holds the depth told at first, and reeled up to the other speed stays %s; it rises as the line shortens. Draws: depth to a foot, drift to a tenth, drag as assumed.
Some waters restrict lead heads: check local rules.
`, export.HeadWhy(c, u), u.Speed(tackle.ReelUpMPS), tackle.UnhookS, u.Depth(tackle.CastM), u.Speed(tackle.ReelMPS), inBand)
	return err
}
