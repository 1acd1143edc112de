// Package clean flags fixes and soundings that should stay out of the analysis.
// It changes no value and removes nothing: a record keeps its place and gets a
// reason, so that a person can see why any point was left out.
package clean
