package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"hopcard/analysis/compare"
	"hopcard/analysis/debrief"
	"hopcard/flight"
	"hopcard/report"
)

func (a *app) compareCommand() *cobra.Command {
	var logbook, format string
	cmd := &cobra.Command{
		Use:   "compare A B",
		Short: "Say what differs between two configurations, and whether it is real",
		Long: `compare debriefs the hops of two configurations and says for every key number how B differs
from A, with its interval, whether the difference is real, and what flying would settle it
if that cannot be told. Numbers that depend on the air are compared in the same air only.

A and B are each a hop (a folder of logs or one log file), several hops with commas between
them, or the name of a configuration: then all hops of the logbook that hop.toml says were
flown with it.`,
		Example: `  hopcard compare "bare head" "light bar" --logbook summer
  hopcard compare summer/hop3 summer/hop4
  hopcard compare hop1,hop2,hop5 hop3,hop4 --logbook summer --format json`,
		Args: arguments(2, 2, "one of A and B"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := oneOf("format", format, "text", "json"); err != nil {
				return err
			}
			return a.compare(cmd.Context(), logbook, format, args[0], args[1])
		},
	}
	cmd.Flags().StringVar(&logbook, "logbook", "", "folder of the logbook (the one that A or B lies in, or the folder you are in)")
	cmd.Flags().StringVar(&format, "format", "text", "text or json")
	return cmd
}

func (a *app) compare(ctx context.Context, logbook, format, first, second string) error {
	if logbook == "" {
		logbook = bookOf(first, second)
	}
	var sides [2]side
	for i, arg := range []string{first, second} {
		s, err := sideOf(logbook, arg)
		if err != nil {
			return err
		}
		sides[i] = s
	}
	result, err := a.compareSides(ctx, sides)
	if err != nil {
		return err
	}
	if format == "json" {
		return report.CompareJSON(a.stdout, result)
	}
	return report.Compare(a.stdout, result)
}

// side is what one argument stands for. configuration is empty if it named hops.
type side struct {
	configuration string
	paths         []string
}

// bookOf is the folder that holds the first hop named by its path, or the current one.
func bookOf(args ...string) string {
	for _, arg := range args {
		path, _, _ := strings.Cut(arg, ",")
		if _, err := os.Stat(path); err == nil {
			return filepath.Dir(filepath.Clean(path))
		}
	}
	return "."
}

// sideOf finds what an argument names: hops, by their path or their name in the logbook,
// or a configuration.
func sideOf(logbook, arg string) (side, error) {
	var s side
	known := true
	for _, item := range strings.Split(arg, ",") {
		path, ok := hopPath(logbook, strings.TrimSpace(item))
		if !ok {
			known = false
			break
		}
		s.paths = append(s.paths, path)
	}
	if known {
		return s, repeated(s.paths)
	}
	byName, err := hopsOf(logbook, arg)
	switch {
	case err != nil:
		return side{}, err
	case len(byName.paths) > 0:
		return byName, nil
	}
	hint := ""
	for _, item := range strings.Split(arg, ",") {
		if _, ok := hopPath(logbook, strings.TrimSpace(item)); !ok {
			hint = hopHint(logbook, strings.TrimSpace(item))
			break
		}
	}
	return side{}, fmt.Errorf("%q is neither a hop nor a configuration flown in the logbook %s; %s%s", arg, logbook, flownIn(logbook), hint)
}

// hopPath returns the path of a hop named by its path or by its name in the logbook.
func hopPath(logbook, item string) (string, bool) {
	if item == "" {
		return "", false
	}
	for _, path := range []string{item, filepath.Join(logbook, item)} {
		if _, _, err := flight.HopLogs(path); err == nil || !errors.Is(err, os.ErrNotExist) && !errors.Is(err, flight.ErrNoLogs) {
			return path, true
		}
	}
	return "", false
}

// repeated returns an error if a hop is named twice.
func repeated(paths []string) error {
	for i, p := range paths {
		for _, q := range paths[:i] {
			if same(p, q) {
				return usageError{fmt.Errorf("%s is named twice", p)}
			}
		}
	}
	return nil
}

func same(p, q string) bool {
	a, errA := os.Stat(p)
	b, errB := os.Stat(q)
	return errA == nil && errB == nil && os.SameFile(a, b)
}

// hopsOf lists the hops of a configuration; none if there is no logbook there.
func hopsOf(logbook, configuration string) (side, error) {
	s := side{configuration: configuration}
	book, err := flight.OpenLogbook(logbook)
	if errors.Is(err, flight.ErrNoLogs) {
		return s, nil
	}
	if err != nil {
		return s, err
	}
	for _, e := range book.Hops {
		if e.Problem != nil {
			return s, e.Problem // it may be one of this configuration
		}
		if configuration != "" && e.Configuration == configuration {
			s.paths = append(s.paths, e.Path)
		}
	}
	return s, nil
}

// flownIn lists the configurations flown in a logbook.
func flownIn(logbook string) string {
	book, err := flight.OpenLogbook(logbook)
	if err != nil {
		return "name its folder with --logbook"
	}
	var names []string
	seen := map[string]bool{}
	for _, e := range book.Hops {
		if c := e.Configuration; c != "" && !seen[c] {
			seen[c] = true
			names = append(names, fmt.Sprintf("%q", c))
		}
	}
	if len(names) == 0 {
		return "say in each hop's hop.toml what was flown, or name the folder with --logbook"
	}
	return "flown there: " + strings.Join(names, ", ")
}

// compareSides debriefs all hops and compares.
func (a *app) compareSides(ctx context.Context, sides [2]side) (*compare.Result, error) {
	for _, p := range sides[0].paths {
		for _, q := range sides[1].paths {
			if same(p, q) {
				return nil, usageError{&compare.SharedError{Hop: filepath.Base(p)}}
			}
		}
	}
	progress := a.newProgress()
	defer progress.clear()
	all := len(sides[0].paths) + len(sides[1].paths)
	done := 0
	var in [2]compare.Side
	for i, s := range sides {
		for _, path := range s.paths {
			d, err := debriefHop(ctx, path, func(part float64, what string) {
				progress.update((float64(done)+part)/float64(all), filepath.Base(path)+": "+what)
			})
			if err != nil {
				return nil, err
			}
			done++
			in[i].Hops = append(in[i].Hops, d)
		}
	}
	in[0].Name, in[1].Name = sideNames(sides, in)
	return compare.Compare(ctx, in[0], in[1])
}

// sideNames are the configurations where they tell the sides apart, else the hops.
func sideNames(sides [2]side, in [2]compare.Side) (a, b string) {
	names := [2]string{}
	for i := range in {
		names[i] = sides[i].configuration
		if names[i] == "" {
			names[i] = oneConfiguration(in[i].Hops)
		}
	}
	if names[0] != "" && names[1] != "" && names[0] != names[1] {
		return names[0], names[1]
	}
	for i := range in {
		names[i] = in[i].Hops[0].Hop.Name
		if more := len(in[i].Hops) - 1; more > 0 {
			names[i] += fmt.Sprintf(" and %d more", more)
		}
	}
	return names[0], names[1]
}

// oneConfiguration is what all hops were flown with, empty if it is not the same.
func oneConfiguration(hops []*debrief.Debrief) string {
	name := hops[0].Hop.Configuration
	for _, d := range hops {
		if d.Hop.Configuration != name {
			return ""
		}
	}
	return name
}
