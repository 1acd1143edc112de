// Command leadline turns a day's GPX tracks, sonar depth logs and catches into
// schooling zones, depth bands, drift lines and the head to tie on.
package main

import (
	"os"
	_ "time/tzdata" // Windows has no time zone database of its own
)

func main() {
	os.Exit(run(os.Args[1:], os.Stdout, os.Stderr))
}
