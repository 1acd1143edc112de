// Package export holds what every writer of results shares: the person's units,
// the rounding of numbers, the names of features and the colours of a chart.
//
// The writers live in the packages below it, one per kind of file, each with a
// Write that takes a Findings and Options and computes nothing new. Package save
// puts their outputs in place, all or none.
//
// Numbers in files are SI; a property's name ends in its unit. Texts that a
// person reads are in the units of Options. Positions are degrees on WGS 84,
// longitude first, written to seven decimals (about a centimetre).
package export
