//go:build race

package clock

// Nothing here runs at once, and the race detector makes the seasons take minutes.
func init() { slow = true }
