// Package logbook keeps a season in one OGC GeoPackage that any GIS opens.
//
// # What is in it
//
// Layers for people and any GIS, derived from what was read and written anew with every
// import of their day:
//
//   - tracks: lines with the time as measure, thinned to a metre or two.
//   - soundings: points with the depth below the surface of their day, thinned to ten metres or so.
//   - events: catches, bites, marks and bait, at the place noted or where the track was at their time.
//   - days: one row a day.
//   - found_zones, found_lines: what the last analysis of the whole logbook found.
//
// What was read, as it was read:
//
//   - sources: one row a file, known by the hash of its content.
//   - leadline_packed: every fix and sounding at full rate, a row for each column of a source's day, coded by
//     package pack. See Definition.
//   - events, levels, winds: small enough to be kept as rows; unix_ns has the instant to the nanosecond.
//   - rejected: every row that was set aside, repaired or kept in doubt, word for word, with its reason.
//
// What a person added, apart from all that:
//
//   - notes: catches added, corrected or struck out, levels, wind and clarity.
//
// # Days
//
// A record belongs to the local day of its time by the zone of the logbook, said once; one without a time to
// the day "". A file's clock is kept as it ran: what was found to be wrong with it is in its row of sources, and is
// applied on reading. Cleaning and joining are not stored but done on reading, so that a correction in the
// boat file counts for the whole season.
//
// # Changes
//
// Every change is one transaction: all of it or nothing. The counter in leadline_settings goes up with each, and
// a change that was prepared on an older state is refused with ErrChanged: whoever prepared it looks again.
package logbook

// Definition tells, in the file itself, how the packed table is read.
const Definition = `Full-rate records, one row for each column of one part of one source on one local day.
source: fid in sources. day: local day, empty for records without a time. kind: fix or sounding. part: for fixes the
number of the track in its file, from 0; for soundings 0. col: name of the column. n: records in this part of the day.
data: the values as coded by package pack (Ints, Floats or Bools; see its documentation in the source of leadline).
Columns of a fix: time (Ints, ns since 1970-01-01 UTC, by the clock of the file: add clock_found_s of sources),
lon and lat (Floats, degrees WGS 84), speed (Floats, m/s over ground), course (Floats, degrees from true north),
line (Ints, line in the file), seq (Ints, place in the track, only where the lines do not tell the order), name (UTF-8 text, not coded). Columns of a sounding: time, lon, lat, speed, line and seq as above,
depth (Floats, m as recorded), ref (Ints: 0 below the transducer, 1 below the surface, 2 below the keel; missing: all 0),
temp (Floats, degrees Celsius). time_ok, pos_ok, speed_ok, course_ok, temp_ok (Bools): which records have such a value, the column
itself then has the others left out. Missing with its column: none has; missing beside it: all have.`
