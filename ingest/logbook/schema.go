package logbook

import (
	"context"
	"errors"
	"fmt"

	"leadline/ingest/gpkg"
)

// Version is that of the tables this program writes: one more than there are upgrades.
func Version() int { return len(upgrades) + 1 }

// ErrNewer is the error of a logbook that a later program wrote.
var ErrNewer = errors.New("written by a later version of leadline")

// Column types.
const (
	integer = "INTEGER"
	real    = "REAL"
	text    = "TEXT"
	instant = "DATETIME"
	yesNo   = "BOOLEAN"
	blob    = "BLOB"
)

// column describes one in the few words a GIS shows.
func column(name, kind, unit, description string) gpkg.Column {
	return gpkg.Column{Name: name, Type: kind, Unit: unit, Description: description}
}

// eventColumns are those of events and of notes that add or correct one.
func eventColumns() []gpkg.Column {
	return []gpkg.Column{
		column("kind", text, "", "catch, bite, mark or bait"),
		column("species", text, "", "as noted"),
		column("count", integer, "", "fish in this record"),
		column("length_m", real, "m", "length of the fish"),
		column("weight_kg", real, "kg", "weight of the fish"),
		column("fish_m", real, "m", "depth of the fish below the surface"),
		column("head_kg", real, "kg", "head it was caught on"),
		column("trailer_m", real, "m", "length of the trailer"),
		column("note", text, "", "as noted"),
	}
}

// layers are the tables of a logbook, in the order in which they are made.
func layers() []gpkg.Layer {
	day := column("day", text, "", "local day, by the zone of the logbook; empty without a time")
	source := column("source", integer, "", "fid in sources")
	line := column("line", integer, "", "line in the file")
	nanos := column("unix_ns", integer, "ns", "time since 1970-01-01 UTC to the nanosecond")
	return []gpkg.Layer{
		{
			Name: "days", Title: "Days", Description: "One row a day on the water",
			Columns: []gpkg.Column{
				column("day", text, "", "local day, by the zone of the logbook"),
				column("first", instant, "", "first sound fix, sounding or event, UTC"),
				column("last", instant, "", "last one, UTC"),
				column("on_water_s", real, "s", "time covered by sound tracks"),
				column("fixes", integer, "", "sound fixes"),
				column("soundings", integer, "", "sound depths that have a place"),
				column("events", integer, "", "catches, bites, marks and bait that have a place"),
				column("level_m", real, "m", "water level above the gauge's zero"),
				column("temp_c", real, "degC", "median water temperature"),
				column("west", real, "deg", "bounds of sound fixes, soundings and events"),
				column("south", real, "deg", ""), column("east", real, "deg", ""), column("north", real, "deg", ""),
			},
		},
		{
			Name: "tracks", Title: "Tracks", Geometry: "LINESTRING", HasM: true,
			Description: "Where the boat was, thinned; the measure is the time in seconds since 1970-01-01 UTC",
			Columns: []gpkg.Column{
				day, source, column("name", text, "", "name of the track in its file"),
				column("first", instant, "", "first fix, UTC"), column("last", instant, "", "last fix, UTC"),
				column("fixes", integer, "", "sound fixes before thinning"),
			},
		},
		{
			Name: "soundings", Title: "Soundings", Geometry: "POINT", Description: "Depths, thinned; those at full rate are in leadline_packed",
			Columns: []gpkg.Column{
				day, source, column("time", instant, "", "UTC"),
				column("depth_m", real, "m", "depth below the surface of the day"),
				column("temp_c", real, "degC", "water temperature"),
			},
		},
		{
			Name: "events", Title: "Catches and marks", Geometry: "POINT", Description: "Catches, bites, marks and bait as read; corrections are in notes",
			Columns: append([]gpkg.Column{
				day, column("time", instant, "", "UTC"), nanos,
				column("placed_by", text, "", "noted: carried a position; track: where the track was then; empty: no place"),
			}, append(eventColumns(), source, column("place", integer, "", "how manieth event of its file, from 0"), line)...),
		},
		{
			Name: "levels", Title: "Water levels", Description: "Water levels as read",
			Columns: []gpkg.Column{day, nanos, column("level_m", real, "m", "above the gauge's zero"), source, line},
		},
		{
			Name: "winds", Title: "Winds", Description: "Winds as read",
			Columns: []gpkg.Column{
				day, column("time", instant, "", "UTC"), nanos, column("speed_mps", real, "m/s", "speed"),
				column("from_deg", real, "deg", "direction it blows from, from true north"), source, line,
			},
		},
		{
			Name: "sources", Title: "Files read", Description: "One row a file that was imported",
			Columns: []gpkg.Column{
				column("name", text, "", "as it was named at the import"),
				column("sha256", text, "", "of the file's content, hexadecimal"),
				column("taken_for", text, "", "what it was recognised as"),
				column("rows_read", integer, "", ""), column("rows_used", integer, "", ""),
				column("rows_repaired", integer, "", "used without a bad value"), column("rows_rejected", integer, "", "set aside, see rejected"),
				column("zone", text, "", "zone that times without one were read in; empty when all carried one"),
				column("clock_found_s", real, "s", "found to be wrong with the file's clock: add it to the times of its fixes and soundings"),
				column("clock_offset_s", real, "s", "added to the file's clock in all, at reading as asked or since"),
				column("clock", text, "", "how the clock stands to the track's, in words"),
				column("clock_in_doubt", yesNo, "", "likely off, by how much isn't sure"),
				column("left_out", text, "", "days of it that were left out at the import, since another file has them; with commas"),
				column("columns", text, "", "columns of a table and what they were read as, JSON"),
			},
		},
		{
			Name: "rejected", Title: "Rows set aside or mended", Description: "Every row that could not be used as it stood",
			Columns: []gpkg.Column{
				source, column("file", text, "", "name of the file"), line, column("field", text, "", "column or element; empty: the row as a whole"),
				column("found", text, "", "the text as found"), column("wanted", text, "", "what would have been accepted"),
				column("outcome", text, "", "row set aside, row used without it, or row kept in doubt"),
				column("reason", text, "", "what is wrong with it"), column("content", text, "", "the row word for word, where it was set aside and is text"),
			},
		},
		{
			Name: "notes", Title: "Notes", Geometry: "POINT", Description: "What a person added or corrected",
			Columns: append([]gpkg.Column{
				day, column("what", text, "", "add, change or drop an event; level, wind or clarity of a day"),
				column("time", instant, "", "UTC"), nanos,
				column("for_sha256", text, "", "content hash of the file whose event is changed or dropped"),
				column("for_place", integer, "", "how manieth event of it, from 0"),
				column("value", real, "", "level in m, wind in m/s, clarity in m"),
				column("from_deg", real, "deg", "direction the wind blows from"),
			}, eventColumns()...),
		},
		{
			Name: "found_zones", Title: "Zones found", Geometry: "POLYGON", Description: "By the last analysis of the whole logbook",
			Columns: foundColumns(),
		},
		{
			Name: "found_lines", Title: "Drift lines found", Geometry: "LINESTRING", Description: "By the last analysis of the whole logbook",
			Columns: foundColumns(),
		},
		{
			Name: "leadline_packed", Extension: "leadline_packed", Definition: Definition,
			Columns: []gpkg.Column{
				column("source", integer, "", ""), column("day", text, "", ""), column("kind", text, "", ""), column("part", integer, "", ""),
				column("n", integer, "", ""), column("col", text, "", ""), column("data", blob, "", ""),
			},
		},
		{
			Name: "leadline_settings", Extension: "leadline_settings",
			Definition: "zone: time zone that local days are told by, IANA name. zone_said: 1 when a person named it. changes: changes made so far.",
			Columns:    []gpkg.Column{column("name", text, "", ""), column("value", text, "", "")},
		},
	}
}

func foundColumns() []gpkg.Column {
	return []gpkg.Column{
		column("id", text, "", "as in the report"), column("name", text, "", ""),
		column("proven", yesNo, "", "of a zone; a line is not put to that proof"), column("properties", text, "", "as in the GeoJSON overlay, JSON"),
	}
}

// indices make the day's rows and a known file quick to find.
var indices = []string{
	"CREATE INDEX leadline_packed_day ON leadline_packed (day, source)",
	"CREATE INDEX leadline_packed_source ON leadline_packed (source)",
	"CREATE INDEX events_day ON events (day)",
	"CREATE INDEX tracks_day ON tracks (day)",
	"CREATE INDEX soundings_day ON soundings (day)",
}

// upgrades[v] turns a logbook of version v+1 into the next one.
var upgrades []func(*gpkg.Tx) error

// begin makes the tables of a new logbook.
func begin(tx *gpkg.Tx) error {
	for _, l := range layers() {
		if err := tx.CreateLayer(l); err != nil {
			return err
		}
	}
	for _, sql := range indices {
		if _, err := tx.Exec(sql); err != nil {
			return err
		}
	}
	for _, s := range [][2]string{{"zone", "UTC"}, {"zone_said", "0"}, {"changes", "0"}} {
		if _, err := tx.Insert("leadline_settings", nil, s[0], s[1]); err != nil {
			return err
		}
	}
	if err := tx.Metadata("A logbook of leadline: tracks, soundings, catches and what a person noted. Not for navigation.", "text/plain"); err != nil {
		return err
	}
	return tx.SetVersion(Version())
}

// check tells whether a file can be used as it is; old when it must be upgraded first.
func check(ctx context.Context, f *gpkg.File) (version int, err error) {
	err = f.View(ctx, func(tx *gpkg.Tx) error {
		if version, err = tx.Version(); err != nil {
			return err
		}
		if version > Version() {
			return fmt.Errorf("%s: %w (version %d of the logbook, this one reads up to %d)", f.Path(), ErrNewer, version, Version())
		}
		return nil
	})
	return version, err
}
