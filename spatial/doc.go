// Package spatial holds what the analysis finds in a season: zones, depth
// bands, drift lines, contours and the head for each zone.
//
// It has types only; package analyse is the door that fills them. Everything
// below this package is pure computation: no files, no clock, no unseeded
// randomness. Shapes are in degrees on WGS 84 (orb), distances in metres, depths
// in metres below the surface at the chart's level.
package spatial
