//go:build race

package main

func init() { underRaceDetector = true }
