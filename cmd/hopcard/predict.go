package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"hopcard/analysis/debrief"
	"hopcard/analysis/identify"
	"hopcard/analysis/rotor"
	"hopcard/flight"
	"hopcard/report"
)

// predictFlags are the flags of predict.
type predictFlags struct {
	logbook, format, from, fittedOn string
	changes                         []string
	charts                          bool
	delayMS, density                float64
}

func (f predictFlags) check() error {
	if err := oneOf("format", f.format, "text", "html", "json"); err != nil {
		return err
	}
	if !(f.delayMS >= 0 && f.delayMS <= 1000) {
		return usageError{fmt.Errorf("--delay-ms %g: it may be 0 to 1000", f.delayMS)}
	}
	if !(f.density == 0 || f.density >= 0.3 && f.density <= 2) {
		return usageError{fmt.Errorf("--density %g: it may be 0.3 to 2 kg/m3", f.density)}
	}
	if f.from != "" && (f.charts || f.format == "html") {
		return usageError{errors.New("--charts and the page with them are of dimensions alone; leave --from out")}
	}
	if f.fittedOn != "" && f.from == "" {
		return usageError{errors.New("--fitted-on says what the hops of --from were flown with; name those")}
	}
	return nil
}

func (f predictFlags) surroundings() rotor.Surroundings {
	return rotor.Surroundings{ControlDelayS: f.delayMS / 1e3, DensityKgM3: f.density}
}

func (a *app) predictCommand() *cobra.Command {
	f := predictFlags{}
	cmd := &cobra.Command{
		Use:   "predict CONFIG",
		Short: "Say what a rotor head will do, from its dimensions or from hops",
		Long: `predict works out, from the dimensions of a configuration in aircraft.toml, how the rotor
head and the aircraft will answer in the hover: Lock number, lag, following times, phasing,
swings, bandwidth, room for the pilot, answer to gusts, and how each moves with each dimension.
What it assumes stands under the numbers. A dimension that is missing is named as
aircraft.toml spells it.

With --from the model is fitted to hops first: gains, following times, flap-back, stiffness
and dead time as flown, with their intervals, what those hops do not tell, and what the head
so fitted says about CONFIG. --fitted-on names the configuration the hops were flown with, if
it is another one. --change tries a dimension on paper, by its name in aircraft.toml.`,
		Example: `  hopcard predict "light bar"
  hopcard predict "heavy bar" --logbook summer --delay-ms 50
  hopcard predict "light bar" --change bar.weight_kg=0.6 --change bar.bar_to_blade=0.55
  hopcard predict "light bar" --charts
  hopcard predict "heavy bar" --from hop3,hop5 --fitted-on "light bar" --logbook summer
  hopcard predict "bare head" --format html > bare-head.html`,
		Args: arguments(1, 1, "CONFIG"),
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := f.check(); err != nil {
				return err
			}
			if f.from != "" {
				return a.predictFrom(cmd.Context(), args[0], f)
			}
			return a.predict(args[0], f)
		},
	}
	flags := cmd.Flags()
	flags.StringVar(&f.logbook, "logbook", "", "folder of the logbook, with aircraft.toml (the one that the hops lie in, or the folder you are in)")
	flags.StringVar(&f.format, "format", "text", "text, html (a page with the design charts) or json")
	flags.StringVar(&f.from, "from", "", "hops of the logbook to fit the model to, by name or folder, with commas between them")
	flags.StringVar(&f.fittedOn, "fitted-on", "", "configuration that those hops were flown with (what their hop.toml says, or CONFIG)")
	flags.StringArrayVar(&f.changes, "change", nil, "dimension to try, such as bar.weight_kg=0.45; may be given several times")
	flags.BoolVar(&f.charts, "charts", false, "draw the design charts: lag and damping over the bar's following time, phasing over the hinge angle")
	flags.Float64Var(&f.delayMS, "delay-ms", 0, "dead time between stick and swashplate, best as measured in a hop")
	flags.Float64Var(&f.density, "density", 0, "air density in kg/m3 (0: 1.225, at sea level)")
	return cmd
}

// wanted is the head that a prediction is asked of: as aircraft.toml has it, and changed.
type wanted struct {
	aircraft *flight.Aircraft
	file     string // aircraft.toml
	changed  flight.Configuration
	changes  []identify.Changed
}

func (f predictFlags) wanted(name string) (w wanted, err error) {
	if w.aircraft, w.file, err = readAircraft(f.logbook); err != nil {
		return w, err
	}
	c, err := configurationOf(w.aircraft, w.file, name)
	if err != nil {
		return w, err
	}
	if w.changed, w.changes, err = identify.Change(*c, f.changes); err != nil {
		return w, usageError{err}
	}
	return w, nil
}

func (a *app) predict(name string, f predictFlags) error {
	w, err := f.wanted(name)
	if err != nil {
		return err
	}
	changed, file := w.changed, w.file
	numbers, err := rotor.Predict(changed, f.surroundings())
	if err != nil {
		return predictError(file, changed, err)
	}
	sensitivities, err := rotor.Sensitivities(changed, f.surroundings())
	if err != nil {
		return predictError(file, changed, err)
	}
	var charts []rotor.DesignChart
	if f.charts || f.format != "text" {
		if charts, err = rotor.DesignCharts(changed, f.surroundings(), w.aircraft.Configurations); err != nil {
			return predictError(file, changed, err)
		}
	}
	p := report.Prediction{Charts: charts, Configuration: changed, Changes: w.changes, RotorTurns: w.aircraft.RotorTurns, Numbers: numbers, Sensitivities: sensitivities}
	switch f.format {
	case "html":
		return report.PredictHTML(a.stdout, p)
	case "json":
		return report.PredictJSON(a.stdout, p)
	}
	return report.Predict(a.stdout, p)
}

// readAircraft reads aircraft.toml of a logbook; file is its name.
func readAircraft(logbook string) (aircraft *flight.Aircraft, file string, err error) {
	if logbook == "" {
		logbook = "."
	}
	file = filepath.Join(logbook, flight.AircraftFile)
	aircraft, ok, err := flight.ReadAircraft(logbook)
	if err != nil {
		return nil, file, err
	}
	if !ok {
		return nil, file, fmt.Errorf("%s: there is no such file; name the folder that holds it with --logbook", file)
	}
	return aircraft, file, nil
}

func configurationOf(aircraft *flight.Aircraft, file, name string) (*flight.Configuration, error) {
	if c := aircraft.Configuration(name); c != nil {
		return c, nil
	}
	return nil, fmt.Errorf("%s: no configuration is named %q; there is %s", file, name, namesOf(aircraft))
}

// predictFrom fits the model to hops and says what it makes of a configuration.
func (a *app) predictFrom(ctx context.Context, name string, f predictFlags) error {
	if f.logbook == "" {
		f.logbook = bookOf(f.from)
	}
	w, err := f.wanted(name)
	if err != nil {
		return err
	}
	hops, err := a.debriefFrom(ctx, f.logbook, f.from)
	if err != nil {
		return err
	}
	flown, err := flownWith(hops, f.fittedOn, name)
	if err != nil {
		return err
	}
	base, err := configurationOf(w.aircraft, w.file, flown)
	if err != nil {
		return err
	}
	progress := a.newProgress()
	fit, err := identify.Fit(ctx, hops, *base, f.surroundings(), progress.update)
	progress.clear()
	if err != nil {
		return fitError(w.file, *base, err)
	}
	forecast, err := fit.Forecast(w.changed)
	if err != nil {
		return fitError(w.file, w.changed, err)
	}
	out := report.Identified{Fit: fit, Forecast: forecast, Changes: w.changes}
	if f.format == "json" {
		return report.IdentifyJSON(a.stdout, out)
	}
	return report.Identify(a.stdout, out)
}

// fitError is predictError for what has to do with the dimensions.
func fitError(file string, c flight.Configuration, err error) error {
	var missing *rotor.MissingError
	if errors.As(err, &missing) || errors.Is(err, rotor.ErrNotPhysical) {
		return predictError(file, c, err)
	}
	return errors.New(strings.TrimPrefix(err.Error(), "identify: "))
}

// debriefFrom debriefs the hops named in list.
func (a *app) debriefFrom(ctx context.Context, logbook, list string) ([]*debrief.Debrief, error) {
	var paths []string
	for _, item := range strings.Split(list, ",") {
		path, ok := hopPath(logbook, strings.TrimSpace(item))
		if !ok {
			return nil, fmt.Errorf("--from: %q is no hop, nor one of the logbook %s%s", strings.TrimSpace(item), logbook, hopHint(logbook, strings.TrimSpace(item)))
		}
		paths = append(paths, path)
	}
	if err := repeated(paths); err != nil {
		return nil, err
	}
	progress := a.newProgress()
	defer progress.clear()
	var hops []*debrief.Debrief
	for i, path := range paths {
		d, err := debriefHop(ctx, path, func(part float64, what string) {
			progress.update((float64(i)+part)/float64(len(paths)), filepath.Base(path)+": "+what)
		})
		if err != nil {
			return nil, err
		}
		hops = append(hops, d)
	}
	return hops, nil
}

// flownWith is the configuration of all hops: the one named, or what their hop.toml say, or
// the one to be predicted. What hop.toml says is not to be contradicted.
func flownWith(hops []*debrief.Debrief, named, predicted string) (string, error) {
	flown := named
	for _, d := range hops {
		c := d.Hop.Configuration
		switch {
		case c == "" || c == flown:
		case flown == "":
			flown = c
		default:
			return "", usageError{fmt.Errorf("%s was flown with %q, not with %q; fit to hops of one configuration, named with --fitted-on", d.Hop.Name, c, flown)}
		}
	}
	if flown == "" {
		return predicted, nil
	}
	return flown, nil
}

// predictError says in one line which dimension to add or to mend, and where.
func predictError(file string, c flight.Configuration, err error) error {
	var missing *rotor.MissingError
	if errors.As(err, &missing) {
		return fmt.Errorf("%s: %w; add it under that configuration", file, err)
	}
	return fmt.Errorf("%s: configuration %q: %s; correct that dimension", file, c.Name, strings.TrimPrefix(err.Error(), "rotor: "))
}

// namesOf lists the configurations there are.
func namesOf(aircraft *flight.Aircraft) string {
	if len(aircraft.Configurations) == 0 {
		return "none; add one as [[configuration]]"
	}
	var names []string
	for _, c := range aircraft.Configurations {
		names = append(names, fmt.Sprintf("%q", c.Name))
	}
	return strings.Join(names, ", ")
}
