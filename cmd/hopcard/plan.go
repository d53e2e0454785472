package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"hopcard/analysis/debrief"
	"hopcard/analysis/plan"
	"hopcard/flight"
	"hopcard/report"
)

// planOptions are the flags of plan.
type planOptions struct {
	configuration, hop, last string
	wishMS                   float64
	printed
	force bool
}

func (a *app) planCommand() *cobra.Command {
	var o planOptions
	cmd := &cobra.Command{
		Use:   "plan [LOGBOOK] --configuration NAME",
		Short: "Write the card before a hop: what to fly, limits, when to break off",
		Long: `plan writes the card before a hop of a configuration of aircraft.toml: what changed since the
last hop, which step of the build-up it is, which test inputs to fly, how large and how often
so that the delay comes out as exactly as wished, limits, when to break off, knocks for the
clocks, and lists for ground crew and inspection. It rests on the last hops of the logbook, on
the rotor model where the dimensions are given, else on stated assumptions.

The hop flown before is the last one of the logbook; --last names another, such as the one
that an earlier decision rested on. With --hop it also makes the folder of the new hop and
puts plan.toml into it; put the logs beside it after the flight, and the card of the hop says
what of the plan was flown.`,
		Example: `  hopcard plan --configuration "light bar"
  hopcard plan summer --configuration "light bar" --hop 2031-05-12-a --format pdf --to card.pdf
  hopcard plan summer --configuration "heavy bar" --wish-ms 5`,
		Args: arguments(0, 1, "LOGBOOK"),
		RunE: func(cmd *cobra.Command, args []string) error {
			book := "."
			if len(args) > 0 {
				book = args[0]
			}
			if err := o.check(a); err != nil {
				return err
			}
			return a.plan(cmd.Context(), book, o, planWriter(o.format, o.paper))
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.configuration, "configuration", "", "configuration to be flown, as aircraft.toml names it")
	f.StringVar(&o.hop, "hop", "", "name of the new hop; plan.toml is written into its folder")
	f.StringVar(&o.last, "last", "", "the hop flown before; by default the last one of the logbook's list")
	f.Float64Var(&o.wishMS, "wish-ms", plan.UsualWishS*1e3, "wished half width of the delay's 95 % interval, in ms")
	o.printed.add(cmd, "md", "html", "pdf", "json", "toml")
	f.BoolVar(&o.force, "force", false, "write over a plan.toml that is there")
	return cmd
}

// planWriter returns what writes a plan in that format.
func planWriter(format, paper string) func(io.Writer, *plan.Plan) error {
	switch format {
	case "html":
		return report.PlanHTML
	case "pdf":
		return func(w io.Writer, p *plan.Plan) error { return report.PlanPDF(w, p, report.Paper(paper)) }
	case "json":
		return report.PlanJSON
	case "toml":
		return func(w io.Writer, p *plan.Plan) error {
			_, err := io.WriteString(w, p.Written.Text())
			return err
		}
	}
	return report.PlanMarkdown
}

// check refuses what cannot be meant.
func (o *planOptions) check(a *app) error {
	if err := o.printed.check(a); err != nil {
		return err
	}
	if o.hop != "" && (o.hop != filepath.Base(o.hop) || strings.ContainsAny(o.hop, `/\`) || strings.HasPrefix(o.hop, ".")) {
		return usageError{fmt.Errorf("--hop %q: write the plain name of a folder, without a path or a dot at its start", o.hop)}
	}
	return nil
}

func (a *app) plan(ctx context.Context, dir string, o planOptions, write func(io.Writer, *plan.Plan) error) error {
	// Before the work, so that nobody waits for a refusal.
	if o.configuration == "" {
		return missingConfiguration(dir)
	}
	if err := o.refuse(dir); err != nil {
		return err
	}
	r, err := a.planRequest(ctx, dir, o)
	if err != nil {
		return err
	}
	p, err := plan.Make(*r)
	if errors.Is(err, plan.ErrConfiguration) {
		return fmt.Errorf("%s: %w", filepath.Join(dir, flight.AircraftFile), err)
	}
	var refused *plan.RefusedError
	if errors.As(err, &refused) {
		return usageError{err}
	}
	if err != nil {
		return err
	}
	if o.hop != "" {
		if err := a.writePlan(filepath.Join(dir, o.hop), p, o.force); err != nil {
			return err
		}
	}
	if o.to == "-" {
		return write(a.stdout, p)
	}
	if err := writeFile(o.to, filepath.Join(dir, o.hop), func(w io.Writer) error { return write(w, p) }); err != nil {
		return err
	}
	_, err = fmt.Fprintf(a.stderr, "wrote %s\n", report.Short(o.to, 200))
	return err
}

// missingConfiguration asks for a configuration, and names those there are.
func missingConfiguration(dir string) error {
	known := ""
	if aircraft, ok, err := flight.ReadAircraft(dir); err == nil && ok {
		known = "; there is " + namesOf(aircraft)
	}
	return usageError{fmt.Errorf("--configuration is missing: name the configuration to be flown%s", known)}
}

// refuse says what must not be written over.
func (o *planOptions) refuse(dir string) error {
	folder := filepath.Join(dir, o.hop)
	if there := filepath.Join(folder, flight.PlanFile); o.hop != "" && !o.force {
		if _, err := os.Lstat(there); err == nil {
			return planThere(fmt.Errorf("%s: %w", there, flight.ErrPlanThere))
		}
	}
	if o.to == "-" {
		return nil
	}
	if name := filepath.Base(o.to); name == flight.PlanFile || name == flight.HopFile || name == flight.AircraftFile {
		return usageError{fmt.Errorf("--to %s: that name is kept for settings; name another file", report.Short(o.to, 200))}
	}
	if err := refuseInput(o.to, folder); err != nil {
		return err
	}
	return refuseLogName(o.to, folder)
}

func planThere(err error) error {
	return fmt.Errorf("%w and is kept; name another hop, or write over it with --force", err)
}

// writePlan makes the folder of the new hop and puts the plan into it.
func (a *app) writePlan(dir string, p *plan.Plan, force bool) error {
	if err := os.Mkdir(dir, 0o755); err != nil && !errors.Is(err, os.ErrExist) {
		return err
	}
	err := flight.WritePlan(dir, &p.Written, force)
	if errors.Is(err, flight.ErrPlanThere) {
		return planThere(err)
	}
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(a.stderr, "wrote %s\n", report.Short(filepath.Join(dir, flight.PlanFile), 200))
	return err
}

// planRequest reads the aircraft and debriefs the hops that the plan rests on.
func (a *app) planRequest(ctx context.Context, dir string, o planOptions) (*plan.Request, error) {
	aircraft, ok, err := flight.ReadAircraft(dir)
	if err != nil {
		return nil, err
	}
	if !ok {
		return nil, fmt.Errorf("%s: there is no such file; name the folder of the logbook that holds it", filepath.Join(dir, flight.AircraftFile))
	}
	r := &plan.Request{Aircraft: aircraft, Configuration: o.configuration, Hop: o.hop, WishS: o.wishMS / 1e3}
	if r.Set, err = flight.LimitsSet(dir); err != nil {
		return nil, err
	}
	if aircraft.Configuration(o.configuration) == nil {
		return r, nil // refused before any hop is read
	}
	before, err := hopsBefore(dir, o)
	if err != nil || len(before) == 0 {
		return r, err
	}
	wanted := plannedOn(before, o.configuration)
	progress := a.newProgress()
	defer progress.clear()
	for i, e := range wanted {
		d, err := debriefHop(ctx, e.Path, func(part float64, what string) {
			progress.update((float64(i)+part)/float64(len(wanted)), e.Name+": "+what)
		})
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		if err != nil {
			return nil, err
		}
		earlier := earlierOf(d)
		if e.Path == before[0].Path {
			r.Last = &earlier
		}
		if d.Hop.Configuration == o.configuration {
			r.Same = append(r.Same, earlier)
		}
	}
	return r, nil
}

// hopsBefore lists the hops flown before the planned one, the newest first.
func hopsBefore(dir string, o planOptions) ([]flight.HopEntry, error) {
	book, err := flight.OpenLogbook(dir)
	if errors.Is(err, flight.ErrNoLogs) && o.last == "" {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	hops := book.Hops
	if k := slices.IndexFunc(hops, func(e flight.HopEntry) bool { return e.Name == o.hop }); k >= 0 {
		hops = hops[:k] // it was flown already: what came before it
	}
	if o.last != "" {
		k := slices.IndexFunc(hops, func(e flight.HopEntry) bool { return e.Name == o.last })
		if k < 0 {
			return nil, fmt.Errorf("--last %q: no hop of %s has that name%s", o.last, dir, hopHint(dir, o.last))
		}
		hops = hops[:k+1]
	}
	slices.Reverse(hops)
	return hops, nil
}

// hopsLookedAt is how many hops of the configuration a plan looks at.
const hopsLookedAt = 3

// plannedOn picks the last hop and the newest of the configuration.
func plannedOn(before []flight.HopEntry, configuration string) []flight.HopEntry {
	out := before[:1:1]
	same := 0
	for i, e := range before {
		if e.Configuration != configuration || same == hopsLookedAt {
			continue
		}
		same++
		if i > 0 {
			out = append(out, e)
		}
	}
	return out
}

// earlierOf is a debriefed hop as a plan rests on it.
func earlierOf(d *debrief.Debrief) plan.Earlier {
	return plan.Earlier{Hop: d.Hop, Proceed: string(d.Verdict.Proceed), Advice: d.Verdict.Advice,
		Segments: d.Segments, Responses: d.Responses, Wind: d.Wind, Stability: d.Stability}
}
