package boatfile

import (
	"slices"
	"strings"
)

// Materials lists the words that a line's material can be: "fluorocarbon, nylon, …".
func Materials() string { return strings.Join(materialNames, ", ") }

// MaterialKgM3 returns the density of a line's material; ok is false for a word
// that Materials does not list.
func MaterialKgM3(name string) (kgM3 float64, ok bool) {
	i := slices.Index(materialNames, name)
	if i < 0 {
		return 0, false
	}
	return materialKgM3[i], true
}

// Metals lists the metals of a head by name.
func Metals() string { return strings.Join(metalNames, ", ") }

// MetalKgM3 returns the density of a metal of Metals; ok is false for another word.
func MetalKgM3(name string) (kgM3 float64, ok bool) {
	i := slices.Index(metalNames, name)
	if i < 0 {
		return 0, false
	}
	return metalKgM3[i], true
}
