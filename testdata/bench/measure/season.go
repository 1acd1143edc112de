package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
)

// How many days of a season are taken, and what its longest may take.
var lengths = []int{10, 50, 100, 200}

const (
	mostExponent = 1.15
	mostWallS    = 60
	mostPeakMB   = 1000
)

// season prints what import and zones take by the number of days.
func season(w io.Writer, p places, turns int) error {
	var g group
	book := func(days int) string { return p.result(fmt.Sprintf("book-%d.gpkg", days)) }
	name := func(verb string, days int) string { return fmt.Sprintf("%s, %d days", verb, days) }
	for _, days := range lengths {
		argv := []string{p.program("leadline"), "import", "--quiet", "--tz", "UTC", "--logbook", book(days)}
		for d := range days {
			argv = append(argv, p.file(fmt.Sprintf("d%03d", d+1)))
		}
		g.contenders = append(g.contenders,
			contender{name: name("import", days), argv: argv, before: remove(book(days))},
			contender{name: name("zones", days), argv: []string{p.program("leadline"), "zones", "--quiet", "--tz", "UTC", "--logbook", book(days),
				"-o", p.result(fmt.Sprintf("zones-%d", days))}})
	}
	// The first round makes the logbooks that zones reads.
	for i := range g.contenders {
		if g.contenders[i].before != nil {
			if _, err := g.contenders[i].turn(); err != nil {
				return err
			}
		}
	}
	// An import takes the logbook away before it makes it anew, so that zones always finds a whole one.
	took, err := g.race(turns)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "A season of days of 36,000 fixes, as many soundings and 25 catches; medians of %d turns, whole processes.\n\n", turns)
	fmt.Fprintln(w, "| days | import: wall s, CPU s, MB | zones: wall s, CPU s, MB | files MB | logbook MB |\n| --- | --- | --- | --- | --- |")
	for _, days := range lengths {
		a, b := took[name("import", days)], took[name("zones", days)]
		about, err := os.Stat(book(days))
		if err != nil {
			return err
		}
		size, err := sizeMB(p, days)
		if err != nil {
			return err
		}
		fmt.Fprintf(w, "| %d | %.2f, %.2f, %.0f | %.2f, %.2f, %.0f | %.0f | %.1f |\n", days, a.wallS, a.cpuS, a.peakMB, b.wallS, b.cpuS, b.peakMB,
			size, float64(about.Size())/1e6)
	}
	fmt.Fprintln(w)
	for _, verb := range []string{"import", "zones"} {
		var wall, cpu []float64
		for _, days := range lengths {
			c := took[name(verb, days)]
			wall, cpu = append(wall, c.wallS), append(cpu, c.cpuS)
		}
		e, f := exponent(wall), exponent(cpu)
		fmt.Fprintf(w, "- %s grows with the days to the power %.2f (wall), %.2f (CPU), target at most %g: %s\n", verb, e, f, mostExponent, verdict(e <= mostExponent))
	}
	longest := lengths[len(lengths)-1]
	c := took[name("zones", longest)]
	fmt.Fprintf(w, "- zones of %d days: %.1f s, target below %d: %s; %.0f MB, target below %d: %s\n", longest,
		c.wallS, mostWallS, verdict(c.wallS < mostWallS), c.peakMB, mostPeakMB, verdict(c.peakMB < mostPeakMB))
	return nil
}

// exponent returns the slope of the line through the logarithms of days and costs, by least squares.
func exponent(costs []float64) float64 {
	var x, y, xx, xy float64
	n := float64(len(costs))
	for i, c := range costs {
		a, b := math.Log(float64(lengths[i])), math.Log(c)
		x, y, xx, xy = x+a, y+b, xx+a*a, xy+a*b
	}
	return (n*xy - x*y) / (n*xx - x*x)
}

func sizeMB(p places, days int) (float64, error) {
	sum := 0.0
	for d := range days {
		files, err := filepath.Glob(p.file(fmt.Sprintf("d%03d/*", d+1)))
		if err != nil {
			return 0, err
		}
		for _, f := range files {
			about, err := os.Stat(f)
			if err != nil {
				return 0, err
			}
			sum += float64(about.Size()) / 1e6
		}
	}
	return sum, nil
}
