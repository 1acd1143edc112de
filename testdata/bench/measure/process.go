package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// A contender is a command that does a piece of work.
type contender struct {
	name   string
	argv   []string
	before func() error // unless nil, called before each turn, off the clock
}

// A cost is what one process took, it and those that it waited for.
//
// Its peak is the kernel's largest resident set of any one of them, not their sum. It is
// never below that of this process, whose memory a child shares until its own program is
// loaded: so this one must stay small, and reads no data.
type cost struct {
	wallS, cpuS float64
	peakMB      float64
	insideS     float64 // the computing alone, where the contender says it; else 0
	keptMB      float64 // of records asked for, where the contender says it; else 0
}

// race lets the contenders take turns and returns the median costs by name. Each round begins with another one.
func (g group) race(turns int) (map[string]cost, error) {
	all := make([][]cost, len(g.contenders))
	for turn := range turns {
		for k := range g.contenders {
			i := (k + turn) % len(g.contenders)
			c, err := g.contenders[i].turn()
			if err != nil {
				return nil, err
			}
			fmt.Fprintf(os.Stderr, "%d/%d %s: wall %.2f s, CPU %.2f s, %.0f MB\n", turn+1, turns, g.contenders[i].name, c.wallS, c.cpuS, c.peakMB)
			all[i] = append(all[i], c)
		}
	}
	out := map[string]cost{}
	for i, c := range g.contenders {
		out[c.name] = middle(all[i])
	}
	return out, nil
}

// turn runs a contender once.
func (c contender) turn() (cost, error) {
	if c.before != nil {
		if err := c.before(); err != nil {
			return cost{}, err
		}
	}
	var out, words bytes.Buffer
	cmd := exec.Command(c.argv[0], c.argv[1:]...)
	cmd.Stdout, cmd.Stderr = &out, &words
	start := time.Now()
	err := cmd.Run()
	wall := time.Since(start)
	if err != nil {
		return cost{}, fmt.Errorf("%s: %w\n%s", strings.Join(c.argv, " "), err, words.Bytes())
	}
	used := cmd.ProcessState.SysUsage().(*syscall.Rusage)
	unit := 1024. // bytes; macOS counts in bytes themselves
	if runtime.GOOS == "darwin" {
		unit = 1
	}
	x := cost{
		wallS:  wall.Seconds(),
		cpuS:   (cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Seconds(),
		peakMB: float64(used.Maxrss) * unit / 1e6,
	}
	for line := range strings.Lines(out.String()) {
		key, value, _ := strings.Cut(strings.TrimSpace(line), " ")
		switch v, err := strconv.ParseFloat(value, 64); {
		case err != nil:
		case key == "inside":
			x.insideS = v
		case key == "kept":
			x.keptMB = v / 1e6
		}
	}
	return x, nil
}

// middle returns the median of each figure by itself.
func middle(all []cost) cost {
	of := func(figure func(cost) float64) float64 {
		v := make([]float64, len(all))
		for i, c := range all {
			v[i] = figure(c)
		}
		slices.Sort(v)
		n := len(v) / 2
		if len(v)%2 == 0 {
			return (v[n-1] + v[n]) / 2
		}
		return v[n]
	}
	return cost{
		wallS:   of(func(c cost) float64 { return c.wallS }),
		cpuS:    of(func(c cost) float64 { return c.cpuS }),
		peakMB:  of(func(c cost) float64 { return c.peakMB }),
		insideS: of(func(c cost) float64 { return c.insideS }),
		keptMB:  of(func(c cost) float64 { return c.keptMB }),
	}
}

// remove returns what takes a file and its companions away.
func remove(name string) func() error {
	return func() error {
		for _, more := range []string{"", "-wal", "-shm", "-journal"} {
			if err := os.Remove(name + more); err != nil && !os.IsNotExist(err) {
				return err
			}
		}
		return nil
	}
}

// oneLine returns text without its line breaks, and paths without their folders: a table
// made on one machine is to read like that of another.
func oneLine(text []byte) string {
	words := strings.Fields(string(text))
	for i, w := range words {
		if filepath.IsAbs(w) {
			words[i] = filepath.Base(w)
		}
	}
	return strings.Join(words, " ")
}
