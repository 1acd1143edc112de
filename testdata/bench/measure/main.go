// Command measure runs leadline and its peers side by side on the files of command made
// and prints what they took as tables in Markdown. testdata/bench/run builds and calls it.
//
// Contenders for one piece of work take turns, a process each, and each figure is the
// median of its turns: what else the machine does meets all of them alike. Ratios can be
// quoted from machine to machine, seconds can't.
package main

import (
	"flag"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
)

func main() {
	var p places
	turns := flag.Int("n", 5, "turns of each contender")
	flag.StringVar(&p.data, "data", "", "folder that made wrote to")
	flag.StringVar(&p.bin, "bin", "", "folder of the programs")
	flag.StringVar(&p.peers, "peers", "", "folder of the peers' scripts")
	flag.StringVar(&p.out, "out", "", "folder for what contenders write")
	flag.Parse()
	if err := run(os.Stdout, p, *turns, flag.Args()); err != nil {
		fmt.Fprintln(os.Stderr, "measure:", err)
		os.Exit(1)
	}
}

// places is where everything is.
type places struct{ data, bin, peers, out string }

func (p places) file(name string) string    { return filepath.Join(p.data, name) }
func (p places) result(name string) string  { return filepath.Join(p.out, name) }
func (p places) program(name string) string { return filepath.Join(p.bin, name) }
func (p places) peer(name string) string    { return filepath.Join(p.peers, name) }

func run(w io.Writer, p places, turns int, what []string) error {
	if turns < 1 || len(what) != 1 || what[0] != "quick" && what[0] != "season" {
		return fmt.Errorf("wanted at least one turn, and quick or season; got %d and %q", turns, what)
	}
	if what[0] == "season" {
		return season(w, p, turns)
	}
	return quick(w, p, turns)
}

// quick prints a row for each pair of contenders, then what the checks say.
func quick(w io.Writer, p places, turns int) error {
	fmt.Fprintf(w, "Medians of %d turns, whole processes: wall s, CPU s, peak MB. A ratio is leadline's share of the peer's.\n\n", turns)
	fmt.Fprintln(w, "| work | data | peer | peer: wall, CPU, MB | leadline: wall, CPU, MB | ratio: wall, CPU, MB | target | |")
	fmt.Fprintln(w, "| --- | --- | --- | --- | --- | --- | --- | --- |")
	var notes []string
	for _, g := range groups(p) {
		took, err := g.race(turns)
		if err != nil {
			return err
		}
		for _, x := range g.pairs {
			fmt.Fprintln(w, x.row(g.data, took))
		}
		for _, c := range g.checks {
			note, err := c.run()
			if err != nil {
				return err
			}
			notes = append(notes, g.data+", "+note)
		}
	}
	fmt.Fprintln(w)
	for _, n := range notes {
		fmt.Fprintln(w, "-", n)
	}
	return start(w, p, turns)
}

// start prints how large the program is and how fast it starts.
func start(w io.Writer, p places, turns int) error {
	const mostMB, mostMS = 40, 30
	about, err := os.Stat(p.program("leadline"))
	if err != nil {
		return err
	}
	took, err := group{contenders: []contender{{name: "start", argv: []string{p.program("leadline"), "--help"}}}}.race(4*turns + 1)
	if err != nil {
		return err
	}
	sizeMB, ms := float64(about.Size())/1e6, took["start"].wallS*1000
	fmt.Fprintf(w, "- the program: %.1f MB, target below %d: %s\n", sizeMB, mostMB, verdict(sizeMB < mostMB))
	fmt.Fprintf(w, "- its start (--help): %.1f ms, target below %d: %s\n", ms, mostMS, verdict(ms < mostMS))
	return nil
}

func verdict(met bool) string {
	if met {
		return "met"
	}
	return "**missed**"
}

// A check is commands that prepare files, and one that compares them and says in a line how they agree.
type check struct {
	before  [][]string
	argv    []string
	against string
}

func (c check) run() (string, error) {
	for _, argv := range c.before {
		if out, err := exec.Command(argv[0], argv[1:]...).CombinedOutput(); err != nil {
			return "", fmt.Errorf("%q: %w\n%s", argv, err, out)
		}
	}
	out, err := exec.Command(c.argv[0], c.argv[1:]...).CombinedOutput()
	if err != nil {
		return fmt.Sprintf("%s: **%s**", c.against, oneLine(out)), nil // a finding, like a target missed
	}
	return c.against + ": " + oneLine(out), nil
}
