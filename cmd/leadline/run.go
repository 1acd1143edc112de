package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"

	"github.com/spf13/cobra"
)

// What is printed where: results go to standard output; progress, warnings and
// errors go to standard error, each line as "leadline: …", "leadline: warning: …",
// "leadline: error: …" or "leadline: hint: …". A failed run prints no result.

// Exit statuses.
const (
	exitDone        = 0
	exitFailed      = 1 // nothing was written
	exitUsage       = 2
	exitSetAside    = 3 // check only: rows would be set aside
	exitInterrupted = 130
)

// errSetAside ends check when rows would be set aside; it has been said already.
var errSetAside = errors.New("rows would be set aside")

// usageError is a mistake in how the command was typed.
type usageError struct{ err error }

func (u usageError) Error() string { return u.err.Error() }
func (u usageError) Unwrap() error { return u.err }

func usagef(format string, args ...any) error { return usageError{fmt.Errorf(format, args...)} }

// hinted is an error with something to try.
type hinted struct {
	error
	hint string
}

func (h hinted) Unwrap() error { return h.error }

// app is what the verbs share: where to print, and the flags common to all.
type app struct {
	out, err io.Writer
	common   commonFlags
}

// say prints one line of progress, unless --quiet.
func (a *app) say(format string, args ...any) {
	if !a.common.quiet {
		fmt.Fprintf(a.err, "leadline: "+format+"\n", args...)
	}
}

// warn prints one warning, also with --quiet: it bears on the results.
func (a *app) warn(format string, args ...any) {
	fmt.Fprintf(a.err, "leadline: warning: "+format+"\n", args...)
}

// run is the whole program but for the process: it returns the exit status.
func run(args []string, out, errOut io.Writer) int {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	a := &app{out: out, err: errOut}
	root, started := a.root()
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errSetAside):
		return exitSetAside
	case ctx.Err() != nil:
		fmt.Fprintln(errOut, "leadline: interrupted, nothing was written")
		return exitInterrupted
	}
	for _, line := range strings.Split(strings.TrimSpace(err.Error()), "\n") {
		fmt.Fprintf(errOut, "leadline: error: %s\n", line)
	}
	if h := (hinted{}); errors.As(err, &h) {
		fmt.Fprintf(errOut, "leadline: hint: %s\n", h.hint)
	}
	if u := (usageError{}); errors.As(err, &u) || !*started {
		fmt.Fprintf(errOut, "leadline: hint: %s --help shows how it is used\n", commandFor(root, args))
		return exitUsage
	}
	return exitFailed
}

// commandFor names the verb that args were meant for, as far as it exists.
func commandFor(root *cobra.Command, args []string) string {
	if c, _, err := root.Find(args); err == nil {
		return c.CommandPath()
	}
	return root.Name()
}

// root returns the command with all its verbs; started becomes true once a verb
// has been understood and begins its work.
func (a *app) root() (root *cobra.Command, started *bool) {
	started = new(bool)
	root = &cobra.Command{
		Use:   "leadline",
		Short: "Where the bass schooled, on which drift, and which head to tie on",
		Long: `leadline reads what the boat recorded (GPX tracks, CSV depth logs, catches) and
finds where fish really schooled, at which depth and hours and on which drift
lines, and the lightest head that gets down and stays down there.

Quantities take units: 24ft, 7.5m, 0.8mph, 0.4m/s, 1/2oz, 14g, 15s.
Not for navigation.`,
		SilenceUsage:      true,
		SilenceErrors:     true,
		PersistentPreRun:  func(*cobra.Command, []string) { *started = true },
		CompletionOptions: cobra.CompletionOptions{HiddenDefaultCmd: true},
		Args: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usagef("unknown verb %q", args[0])
			}
			return nil
		},
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetOut(a.out)
	root.SetErr(a.err)
	root.SetHelpCommand(&cobra.Command{Hidden: true})
	a.common.add(root.PersistentFlags())
	root.AddCommand(a.zones(), a.plan(), a.backtest(), a.share(), a.importing(), a.check(), a.days(), a.note(), a.forget(), a.exporting(), a.heads(), a.demo())
	return root, started
}
