// Package ingest holds the records a boat brings home: positions, soundings,
// catches and water levels, and what became of every row that was read.
//
// It has types, and room for many records of them (room.go). The readers, the cleaning and the joining live in the
// packages below it, and package load is the door through which the rest of the
// program calls them.
//
// # Terms, defined once
//
//   - Position: an [orb.Point], longitude then latitude, in degrees on WGS 84.
//   - Time: a [time.Time] in UTC. The zero time means the record carries none.
//   - Speed: over ground, in metres per second, as the receiver reported it.
//   - Course: the direction of travel over ground, degrees clockwise from true north.
//   - Recorded depth: metres, positive down, as logged: below the transducer unless
//     the log says from where (DepthRef).
//   - Surface depth: metres below the water surface of that day.
//   - Fish depth: metres below the surface at which a fish was, as noted by a person.
//   - Level: height of the water surface above whatever zero the person's gauge
//     uses, in metres. Only differences between levels are ever used.
//   - Mass: kilograms. A head's mass is that of its weight alone, without the trailer.
package ingest
