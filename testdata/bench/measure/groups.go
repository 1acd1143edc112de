package main

import (
	"fmt"
	"strings"
)

// A group is contenders that take turns on the same data.
type group struct {
	data       string
	contenders []contender
	pairs      []pair
	checks     []check
}

// A pair is one row: leadline beside a peer.
type pair struct {
	work, ours, theirs string
	computing          bool // compared by the computing alone
	targets            []target
}

// A target is what a pair should come to.
type target struct {
	words string
	met   func(ours, theirs cost) bool
}

func wall(share float64) target {
	return target{fmt.Sprintf("wall 1/%g", share), func(a, b cost) bool { return a.wallS*share <= b.wallS }}
}

func computing(share float64) target {
	return target{fmt.Sprintf("computing 1/%g", share), func(a, b cost) bool { return a.insideS*share <= b.insideS }}
}

func memory(share float64) target {
	return target{fmt.Sprintf("memory 1/%g", share), func(a, b cost) bool { return a.peakMB*share <= b.peakMB }}
}

// aboveKept is memory beside the records that were asked for.
func aboveKept(mostMB float64) target {
	return target{fmt.Sprintf("%g MB above what is kept", mostMB), func(a, _ cost) bool { return a.peakMB-a.keptMB <= mostMB }}
}

// row returns a pair as a line of the table.
func (x pair) row(data string, took map[string]cost) string {
	a, b := took[x.ours], took[x.theirs]
	figures := func(c cost) string {
		if x.computing {
			return fmt.Sprintf("%s computing; %s, %s, %.0f", seconds(c.insideS), seconds(c.wallS), seconds(c.cpuS), c.peakMB)
		}
		s := fmt.Sprintf("%s, %s, %.0f", seconds(c.wallS), seconds(c.cpuS), c.peakMB)
		if c.keptMB > 0 {
			s += fmt.Sprintf(" (%.0f kept)", c.keptMB)
		}
		return s
	}
	ratio := fmt.Sprintf("%s, %s, %s", share(a.wallS, b.wallS), share(a.cpuS, b.cpuS), share(a.peakMB, b.peakMB))
	if x.computing {
		ratio = share(a.insideS, b.insideS) + " computing; " + ratio
	}
	var wanted, came []string
	for _, t := range x.targets {
		wanted = append(wanted, t.words)
		came = append(came, verdict(t.met(a, b)))
	}
	return fmt.Sprintf("| %s | %s | %s | %s | %s | %s | %s | %s |", x.work, data, x.theirs, figures(b), figures(a), ratio,
		strings.Join(wanted, "; "), strings.Join(came, "; "))
}

func seconds(s float64) string {
	if s < 1 {
		return fmt.Sprintf("%.3f", s)
	}
	return fmt.Sprintf("%.1f", s)
}

// share writes a/b as 1/12.3, or as 1.70 where a is the greater.
func share(a, b float64) string {
	if a < b {
		return fmt.Sprintf("1/%.1f", b/a)
	}
	return fmt.Sprintf("%.2f", a/b)
}

// python is Debian's own: a machine may have others, which don't see Debian's packages.
const python = "/usr/bin/python3"

// groups lists all that is compared.
func groups(p places) []group {
	steps := func(words ...string) []string { return append([]string{p.program("steps")}, words...) }
	track, log, marks := p.file("day.gpx"), p.file("day.csv"), p.file("marks.gpx")
	list := []group{{
		data: "a day of 36,000 fixes and soundings, 2,000 marks",
		contenders: []contender{
			{name: "steps", argv: steps("day", track, log, marks, p.result("steps"))},
			{name: "chart", argv: []string{p.program("leadline"), "zones", track, log, marks, "--tz", "UTC", "--quiet", "--simulations", "0", "--only", "geojson", "--contour", "1m", "--cell", "5m", "-o", p.result("chart")}},
			{name: "zones", argv: []string{p.program("leadline"), "zones", track, log, marks, "--tz", "UTC", "--quiet", "-o", p.result("zones")}},
			{name: "script with lxml", argv: []string{python, p.peer("day.py"), "lxml", track, log, marks, p.result("lxml")}},
			{name: "script with gpxpy", argv: []string{python, p.peer("day.py"), "gpxpy", track, log, marks, p.result("gpxpy")}},
		},
		pairs: []pair{
			{work: "the script's own steps", ours: "steps", theirs: "script with lxml", targets: []target{wall(10), memory(4)}},
			{work: "`leadline zones --simulations 0 --only geojson`", ours: "chart", theirs: "script with lxml"},
			{work: "all of `leadline zones`", ours: "zones", theirs: "script with gpxpy", targets: []target{wall(4), memory(3)}},
		},
	}, {
		data: "GPX of 1,000,000 points",
		contenders: []contender{
			{name: "leadline", argv: steps("gpx", p.file("million.gpx"))},
			{name: "gpxgo", argv: []string{p.program("gpxgo"), p.file("million.gpx")}},
			{name: "ogrinfo", argv: []string{"ogrinfo", "-al", "-so", p.file("million.gpx"), "track_points"}},
		},
		pairs: []pair{
			{work: "read", ours: "leadline", theirs: "gpxgo", targets: []target{wall(10), aboveKept(32)}},
			{work: "read", ours: "leadline", theirs: "ogrinfo", targets: []target{wall(20)}},
		},
		checks: []check{{
			before:  [][]string{steps("gpx", p.file("million.gpx"), p.result("ours.points")), {p.program("gpxgo"), p.file("million.gpx"), p.result("gpxgo.points")}},
			argv:    []string{p.program("check"), "fixes", p.result("ours.points"), p.result("gpxgo.points")},
			against: "against gpxgo",
		}, {
			before: [][]string{{"rm", "-f", p.result("gdal.csv")},
				{"ogr2ogr", "-f", "CSV", p.result("gdal.csv"), p.file("million.gpx"), "track_points", "-lco", "GEOMETRY=AS_XY"}},
			argv:    []string{p.program("check"), "fixes", p.result("ours.points"), p.result("gdal.csv")},
			against: "against GDAL",
		}},
	}, {
		data: "CSV of 1,000,000 rows",
		contenders: []contender{
			{name: "leadline", argv: steps("csv", p.file("million.csv"))},
			{name: "pandas", argv: []string{python, p.peer("table.py"), p.file("million.csv")}},
		},
		pairs: []pair{{work: "read", ours: "leadline", theirs: "pandas", targets: []target{wall(2)}}},
		checks: []check{{
			argv: []string{"sh", "-c", `a=$("$0" csv "$2" | grep rows) && b=$(` + python + ` "$1" "$2" | grep rows) && test "$a" = "$b" && echo "$a in both"`,
				p.program("steps"), p.peer("table.py"), p.file("million.csv")},
			against: "against pandas",
		}},
	}}
	for _, d := range []struct {
		name, words string
		target      float64
	}{
		{"points-100k", "100,000 points, 50 clumps", 10},
		{"points-400k", "400,000 points, 5,000 clumps", 4},
		{"points-1m", "1,000,000 points, 50 clumps", 50},
	} {
		ours, theirs := p.result(d.name+".ours"), p.result(d.name+".theirs")
		list = append(list, group{
			data: d.words,
			contenders: []contender{
				{name: "leadline", argv: steps("cluster", p.file(d.name+".f64"), ours)},
				{name: "R dbscan", argv: []string{"Rscript", p.peer("dbscan.R"), p.file(d.name + ".f64"), theirs}},
			},
			pairs:  []pair{{work: "DBSCAN, 15 m, 10 points", ours: "leadline", theirs: "R dbscan", computing: true, targets: []target{computing(d.target)}}},
			checks: []check{{argv: []string{p.program("check"), "labels", p.file(d.name + ".f64"), ours, theirs}, against: "against R dbscan"}},
		})
	}
	for _, d := range []struct{ name, words string }{
		{"scattered", "1,000,000 soundings anywhere"},
		{"along", "1,000,000 soundings along a way"},
	} {
		out := p.result(d.name)
		list = append(list, group{
			data: d.words,
			contenders: []contender{
				{name: "leadline", argv: steps("grid", p.file(d.name+".csv"), out)},
				{name: "gdal_grid, gdal_contour", argv: []string{p.peer("grid.sh"), p.file(d.name + ".csv"), out}},
			},
			pairs: []pair{{work: "2000 x 1000 cells of 5 m, reach 30 m, contours 1 m", ours: "leadline", theirs: "gdal_grid, gdal_contour", targets: []target{wall(10)}}},
			checks: []check{{argv: []string{p.program("check"), "grid", p.file("truth.f32"), out + "/ours.f32", out + "/theirs.f32"},
				against: "against gdal_grid"}},
		})
	}
	return list
}
