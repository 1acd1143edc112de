package main

import (
	"fmt"
	"io"
	"path/filepath"

	"github.com/spf13/cobra"

	"leadline/export"
	"leadline/export/save"
	"leadline/ingest/madelake"
)

func (a *app) demo() *cobra.Command {
	var seed uint64
	var small, windy bool
	c := &cobra.Command{
		Use:   "demo DIR",
		Short: "Write an invented autumn season to DIR, to try the other verbs on",
		Long: `demo writes the recordings of an invented autumn on an invented reservoir: a GPX
track and a sonar log a day, a catch log, water levels and a boat file, with the
faults that real ones have. truth.json beside them says where the schools were.
Nothing in it is a real place or person.`,
		Example: `  leadline demo season
  leadline zones season --boat season/boat.toml -o out`,
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return usagef("demo takes one folder to write to, got %d", len(args))
			}
			return nil
		},
		RunE: func(c *cobra.Command, args []string) error {
			size := madelake.Full
			if small {
				size = madelake.Small
			}
			plan := madelake.Default(seed, size)
			if windy {
				plan.Days, plan.Wind = 8, true
			}
			files, _ := madelake.Make(plan)
			var outs []save.Output
			bytes := 0
			for _, f := range files {
				bytes += len(f.Data)
				outs = append(outs, save.Output{Name: f.Name, Write: func(w io.Writer) error {
					_, err := w.Write(f.Data)
					return err
				}})
			}
			if err := save.Files(c.Context(), args[0], outs); err != nil {
				return err
			}
			_, err := fmt.Fprintf(a.out, "%s (%.1f MB) written to %s\nNow try: leadline zones %s --boat %s -o out\n",
				export.Plural(len(files), "file"), float64(bytes)/1e6, args[0], args[0], filepath.Join(args[0], "boat.toml"))
			return err
		},
	}
	c.Flags().Uint64Var(&seed, "seed", 1, "seed of the season: another one is another lake of fish")
	c.Flags().BoolVar(&small, "small", false, "fewer days and fixes, about a megabyte")
	c.Flags().BoolVar(&windy, "windy", false, "days of wind from all round that does the drifting, with a table of it")
	return c
}
