// Package resultfile writes result.json: the same numbers as the report, with
// every file read and every row that was rejected or flagged, for other programs.
package resultfile

import (
	"io"
	"time"

	"github.com/paulmach/orb"

	"leadline/export"
	"leadline/ingest"
	"leadline/ingest/si"
	"leadline/spatial"
)

// Format and Version stand at the head of every file. Version goes up when a name
// changes its meaning or goes away, not when one is added.
const (
	Format  = "leadline result"
	Version = 1
)

// Write writes the findings as one JSON object, indented. The members of zones,
// bands, drifts, contours and events are the properties of the GeoJSON features
// of the same name; a value that can't be known is null. Lists are never null.
//
// Errors are those of w, and of a value that JSON can't hold.
func Write(w io.Writer, in export.Findings, opt export.Options) error {
	return encode(w, build(in, opt))
}

// WriteBacktest writes a backtest as one JSON object, indented (export.BacktestResult). Errors are those of Write.
func WriteBacktest(w io.Writer, b spatial.Backtest, opt export.Options) error {
	return encode(w, export.BacktestResult(b, opt.Units))
}

type result struct {
	Format    string              `json:"format"`
	Version   int                 `json:"version"`
	Title     string              `json:"title"`
	Clock     string              `json:"clock"`
	LevelM    ingest.Maybe        `json:"level_m"`
	All       allFishing          `json:"all_fishing"`
	Bottom    bottom              `json:"bottom"`
	Days      []day               `json:"days"`
	Zones     []export.Properties `json:"zones"`
	Bands     []export.Properties `json:"bands"`
	FishBands []export.Properties `json:"fish_bands"` // by the fish's own depth
	Hours     hourly              `json:"hours"`
	Fished    []fished            `json:"fished"` // how long water was in reach of a cast
	Drifts    []export.Properties `json:"drifts"`
	Leeway    leeway              `json:"leeway"`
	Forecast  *forecast           `json:"forecast"` // null: no wind was asked about
	Contours  []export.Properties `json:"contours"`
	Events    []export.Properties `json:"events"`
	Remarks   []remark            `json:"remarks"`
	Cautions  []string            `json:"cautions"`
	Files     []file              `json:"files"`
	Elsewhere []problem           `json:"problems_elsewhere"` // of no file in the list
	Unplaced  unplaced            `json:"unplaced"`
	Settings  *settings           `json:"settings"`
}

type allFishing struct {
	FishingH     ingest.Maybe `json:"fishing_h"`
	Events       int          `json:"events"`
	RatePerH     ingest.Maybe `json:"rate_per_h"`
	RateLowPerH  ingest.Maybe `json:"rate_low_per_h"`
	RateHighPerH ingest.Maybe `json:"rate_high_per_h"`
	PValue       ingest.Maybe `json:"p_value"` // that even fishing would cluster its events as much anywhere
	Stand        stand        `json:"stand"`
}

type day struct {
	Date      string       `json:"date"`
	FishingH  ingest.Maybe `json:"fishing_h"`
	DriftingH ingest.Maybe `json:"drifting_h"` // by state, down to unknown_h; together the day
	HoldingH  ingest.Maybe `json:"holding_h"`
	CrawlingH ingest.Maybe `json:"crawling_h"`
	RunningH  ingest.Maybe `json:"running_h"`
	StoppedH  ingest.Maybe `json:"stopped_h"`
	UnknownH  ingest.Maybe `json:"unknown_h"`
	Fixes     int          `json:"fixes"`
	Soundings int          `json:"soundings"`
	Events    int          `json:"events"`
	LevelM    ingest.Maybe `json:"level_m"`
	Shift     shift        `json:"shift"`
}

type remark struct {
	About string `json:"about"`
	Text  string `json:"text"`
}

type file struct {
	Name         string         `json:"name"`
	TakenFor     string         `json:"taken_for"`
	Columns      []column       `json:"columns"`
	RowsRead     int            `json:"rows_read"`
	Used         int            `json:"used"`
	Repaired     int            `json:"repaired"`
	SetAside     int            `json:"set_aside"`
	Rejected     []problem      `json:"rejected"` // rows set aside
	Repairs      []problem      `json:"repairs"`  // rows used after a correction
	InDoubt      []problem      `json:"in_doubt"` // rows used as they stand
	Flagged      map[string]int `json:"flagged"`  // encoding/json sorts the keys
	Zone         *string        `json:"zone"`     // that times without one were read in
	ClockOffsetS ingest.Maybe   `json:"clock_offset_s"`
	Clock        *string        `json:"clock"` // in words
}

type column struct {
	Name   string  `json:"name"`
	ReadAs *string `json:"read_as"` // null: not used
	Unit   *string `json:"unit"`
}

type problem struct {
	File    string  `json:"file,omitempty"` // only where it isn't said by the list
	Line    *int    `json:"line"`           // null: the file as a whole
	Field   *string `json:"field"`          // null: the row as a whole
	Found   string  `json:"found"`
	Wanted  string  `json:"wanted"`
	Reason  string  `json:"reason"`
	Outcome string  `json:"outcome"`
	Row     *string `json:"row"` // word for word, of a row set aside
}

type unplaced struct {
	Count   int        `json:"count"`
	Reasons []tally    `json:"reasons"`
	List    []leftOver `json:"list"`
}

type tally struct {
	What   string `json:"what"`
	Reason string `json:"reason"`
	Count  int    `json:"count"`
}

type leftOver struct {
	What     string  `json:"what"`
	File     *string `json:"file"`
	Line     *int    `json:"line"`      // of the first
	LastLine *int    `json:"last_line"` // of the last
	Count    int     `json:"count"`
	Time     *string `json:"time"` // of the first
	Reason   string  `json:"reason"`
}

type headTrial struct {
	HeadOz       ingest.Maybe `json:"head_oz"`
	HeadG        ingest.Maybe `json:"head_g"`
	Line         string       `json:"line"`
	LineMM       ingest.Maybe `json:"line_mm"`
	TrailerM     ingest.Maybe `json:"trailer_m"`
	SinkS        ingest.Maybe `json:"sink_s"`
	Holds        bool         `json:"holds"`
	LineOutM     ingest.Maybe `json:"line_out_m"`
	TrailM       ingest.Maybe `json:"trail_m"`
	LineAngleDeg ingest.Maybe `json:"line_angle_deg"`
	MeetsSink    bool         `json:"meets_sink"`
	MeetsAngle   bool         `json:"meets_angle"`
	Picked       bool         `json:"picked"`
	CycleS       ingest.Maybe `json:"cycle_s"`      // seconds a fish, at best
	ReelDepthM   ingest.Maybe `json:"reel_depth_m"` // held when reeled at the setting reel_mps, at first
	ReelMPS      ingest.Maybe `json:"reel_mps"`     // fastest retrieve that stays at head_top_m (else head_depth_m) or below; null: none does, or any when that is 0
	Leader       *leader      `json:"leader"`
}

func build(in export.Findings, opt export.Options) result {
	c, u := in.Chart, opt.Units
	r := result{
		Format: Format, Version: Version, Title: opt.Heading(), Clock: export.Clock(c.Zone).String(),
		LevelM: export.RoundMaybe(c.LevelM, 2),
		Days:   []day{}, Zones: []export.Properties{}, Bands: []export.Properties{}, Drifts: []export.Properties{},
		Contours: []export.Properties{}, Events: []export.Properties{}, Remarks: []remark{},
		Cautions: export.Cautions(u), Files: []file{}, Elsewhere: []problem{},
		Settings: settingsOf(in.Settings), Bottom: bottomOf(c.Bottom),
	}
	fishingH := 0.0
	for _, d := range c.Days {
		fishingH += d.FishingH
		r.All.Events += d.Events
		r.Days = append(r.Days, day{
			Date: d.Date, FishingH: export.Round(d.FishingH, 2),
			DriftingH: export.Round(d.DriftingH, 2), HoldingH: export.Round(d.HoldingH, 2), CrawlingH: export.Round(d.CrawlingH, 2),
			RunningH: export.Round(d.RunningH, 2), StoppedH: export.Round(d.StoppedH, 2), UnknownH: export.Round(d.UnknownH, 2), Fixes: d.Fixes, Soundings: d.Soundings, Events: d.Events,
			LevelM: export.RoundMaybe(d.LevelM, 2), Shift: shiftOf(d.Shift),
		})
	}
	if len(c.Days) > 0 {
		r.All.FishingH = export.Round(fishingH, 2)
	}
	if c.LakeRate.OK {
		r.All.RatePerH = export.Round(c.LakeRate.PerH, 3)
		r.All.RateLowPerH = export.Round(c.LakeRate.LowPerH, 3)
		r.All.RateHighPerH = export.Round(c.LakeRate.HighPerH, 3)
	}
	r.All.PValue, r.All.Stand = export.RoundMaybe(c.EvenP, 4), standOf(c.Stand)
	for _, z := range c.Zones {
		r.Zones = append(r.Zones, zone(z, u))
	}
	for _, b := range c.Bands {
		p := export.BandFeature(b, u).Properties
		r.Bands = append(r.Bands, append(p, export.Property{Name: "thin", Value: b.Thin}))
	}
	r.FishBands, r.Hours, r.Fished = bandsOf(c.Fish), hourlyOf(c), fishedOf(c.Fished)
	for _, d := range c.Drifts {
		r.Drifts = append(r.Drifts, drift(d, u))
	}
	r.Leeway, r.Forecast = leewayOf(c.Leeway), forecastOf(c.Forecast)
	for i, l := range c.Contours {
		r.Contours = append(r.Contours, export.ContourFeature(i, l, u).Properties)
	}
	for _, e := range c.Events {
		p := export.EventFeature(e, c.Zone).Properties
		r.Events = append(r.Events, append(p,
			export.Property{Name: "count", Value: e.Count},
			export.Property{Name: "at", Value: position(e.At)}))
	}
	for _, m := range c.Remarks {
		r.Remarks = append(r.Remarks, remark{m.About, m.Text})
	}
	r.Files, r.Elsewhere = files(in)
	r.Unplaced = leftOvers(in)
	return r
}

// trials lists what every head of the box does.
func trials(c spatial.HeadChoice) []headTrial {
	out := []headTrial{}
	for i, t := range c.Trials {
		out = append(out, headTrial{
			HeadOz: export.Round(t.Head.MassKg/si.OunceKg, 4), HeadG: export.Round(t.Head.MassKg*1000, 2),
			Line: t.Line.Name, LineMM: export.Round(t.Line.DiameterM*1000, 3), TrailerM: export.Round(t.TrailerM, 3),
			SinkS: export.Round(t.SinkS, 1), Holds: t.Holds, LineOutM: export.RoundMaybe(t.LineOutM, 2),
			TrailM: export.RoundMaybe(t.TrailM, 2), LineAngleDeg: export.RoundMaybe(t.AngleDeg, 1),
			MeetsSink: t.MeetsSink, MeetsAngle: t.MeetsAngle, Picked: c.Picked && i == c.Pick,
			CycleS: cycle(t), ReelDepthM: export.RoundMaybe(t.ReelDepthM, 2), ReelMPS: export.RoundMaybe(t.ReelMPS, 3), Leader: leaderOf(t.Line.Leader),
		})
	}
	return out
}

// cycle is unknown where it was not worked out: no fish takes no time.
func cycle(t spatial.HeadTrial) ingest.Maybe {
	if t.CycleS <= 0 {
		return ingest.Maybe{}
	}
	return export.Round(t.CycleS, 1)
}

// zone adds to the properties of the feature what only this file and the report tell.
func zone(z spatial.Zone, u si.System) export.Properties {
	return append(export.ZoneFeature(z, u).Properties,
		export.Property{Name: "centre", Value: position(z.Centre)},
		export.Property{Name: "area_m2", Value: export.Round(z.AreaM2, 0)},
		export.Property{Name: "structures", Value: structures(z.Structures)},
		export.Property{Name: "terrain", Value: terrainOf(z.Terrain)},
		export.Property{Name: "move_by_day", Value: moveOf(z.ByDay)},
		export.Property{Name: "move_by_falling_m", Value: moveOf(z.ByLevel)},
		export.Property{Name: "layer", Value: orNull(z.Layer)},
		export.Property{Name: "fish_noted", Value: z.FishNoted},
		export.Property{Name: "stand", Value: standOf(z.Stand)},
		export.Property{Name: "bands", Value: bandsOf(z.Bands)},
		export.Property{Name: "window", Value: windowOf(z.Window)},
		export.Property{Name: "drift_passes", Value: z.DriftPasses},
		export.Property{Name: "head_depth_m", Value: export.RoundMaybe(z.Head.DepthM, 2)},
		export.Property{Name: "head_speed_mps", Value: export.RoundMaybe(z.Head.SpeedMPS, 3)},
		export.Property{Name: "head_top_m", Value: export.RoundMaybe(z.Head.TopM, 2)},
		export.Property{Name: "head_deep_mps", Value: export.RoundMaybe(z.Head.DeepMPS, 3)},
		export.Property{Name: "head_current_mps", Value: export.RoundMaybe(z.Head.CurrentMPS, 3)},
		export.Property{Name: "head_close", Value: z.Head.Close},
		export.Property{Name: "head_stand", Value: headStandOf(z.Head)},
		export.Property{Name: "head_sink", Value: sinkOf(z.Head)},
		export.Property{Name: "head_trials", Value: trials(z.Head)},
		export.Property{Name: "forecast_head", Value: forecastHeadOf(z.ForecastHead, u)},
	)
}

func drift(d spatial.DriftLine, u si.System) export.Properties {
	_, low, high := rateOf(d.Rate)
	_, passLow, passHigh := rateOf(d.PerPass)
	return append(export.DriftFeature(d, u).Properties,
		export.Property{Name: "rate_low_per_h", Value: low},
		export.Property{Name: "rate_high_per_h", Value: high},
		export.Property{Name: "days", Value: d.Days},
		export.Property{Name: "width_m", Value: export.Round(d.WidthM, 1)},
		export.Property{Name: "events_per_pass_low", Value: passLow},
		export.Property{Name: "events_per_pass_high", Value: passHigh},
		export.Property{Name: "stretch", Value: stretchOf(d.Stretch)},
		export.Property{Name: "profile", Value: profileOf(d.Profile)},
	)
}

// position is longitude, latitude in degrees.
func position(p orb.Point) orb.Point { return export.RoundPoint(p) }

// files gives each problem to the first file of its name. Those that name no file
// of the list come back apart.
func files(in export.Findings) (list []file, elsewhere []problem) {
	list, elsewhere = []file{}, []problem{}
	index := map[string]int{}
	for i, s := range in.Sources {
		if _, taken := index[s.Name]; !taken {
			index[s.Name] = i
		}
		f := file{
			Name: s.Name, TakenFor: s.TakenFor, Columns: []column{}, RowsRead: s.RowsRead, Used: s.Used,
			Repaired: s.Repaired, SetAside: s.SetAside, Rejected: []problem{}, Repairs: []problem{}, InDoubt: []problem{},
			Flagged: map[string]int{}, Zone: orNull(s.Zone), ClockOffsetS: s.ClockOffsetS, Clock: orNull(s.Clock),
		}
		for _, c := range s.Columns {
			f.Columns = append(f.Columns, column{c.Name, orNull(c.ReadAs), orNull(c.Unit)})
		}
		for reason, n := range in.Flagged(i) {
			f.Flagged[reason] = n
		}
		list = append(list, f)
	}
	for _, p := range in.Problems {
		q := problem{
			Line: line(p.Line), Field: orNull(p.Field), Found: p.Found, Wanted: p.Wanted,
			Reason: p.Reason(), Outcome: p.Outcome.String(), Row: orNull(p.Row),
		}
		i, known := index[p.File]
		if !known {
			q.File = p.File
			elsewhere = append(elsewhere, q)
			continue
		}
		f := &list[i]
		switch p.Outcome {
		case ingest.SetAside:
			f.Rejected = append(f.Rejected, q)
		case ingest.Repaired:
			f.Repairs = append(f.Repairs, q)
		default:
			f.InDoubt = append(f.InDoubt, q)
		}
	}
	return list, elsewhere
}

func leftOvers(in export.Findings) unplaced {
	out := unplaced{Reasons: []tally{}, List: []leftOver{}}
	for _, t := range in.UnplacedTallies() {
		out.Reasons = append(out.Reasons, tally{t.What, t.Reason, t.Count})
		out.Count += t.Count
	}
	for _, u := range in.Unplaced {
		l := leftOver{What: u.What, File: orNull(in.SourceName(u.Source)), Line: line(u.Line), LastLine: line(u.LastLine), Count: u.Count, Reason: u.Reason}
		if !u.Time.IsZero() {
			at := u.Time.UTC().Format(time.RFC3339)
			l.Time = &at
		}
		out.List = append(out.List, l)
	}
	return out
}

func orNull(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

func line(n int) *int {
	if n == 0 {
		return nil
	}
	return &n
}
