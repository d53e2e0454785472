package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"hopcard/analysis/rotor"
	"hopcard/flight"
	"hopcard/report"
)

func (a *app) predictCommand() *cobra.Command {
	var logbook, format string
	var delayMS, density float64
	cmd := &cobra.Command{
		Use:   "predict CONFIG",
		Short: "Say what a rotor head will do, from its dimensions",
		Long: `predict works out, from the dimensions of a configuration in aircraft.toml, how the rotor
head and the aircraft will answer in the hover: Lock number, lag, following times, phasing,
swings, bandwidth, answer to gusts, and how each moves with each dimension. What it assumes
stands under the numbers. A dimension that is missing is named as aircraft.toml spells it.`,
		Example: `  hopcard predict "light bar"
  hopcard predict "heavy bar" --logbook summer --delay-ms 50
  hopcard predict "bare head" --format json`,
		Args: arguments(1, 1, "CONFIG"),
		RunE: func(_ *cobra.Command, args []string) error {
			if err := oneOf("format", format, "text", "json"); err != nil {
				return err
			}
			if !(delayMS >= 0 && delayMS <= 1000) {
				return usageError{fmt.Errorf("--delay-ms %g: it may be 0 to 1000", delayMS)}
			}
			if !(density == 0 || density >= 0.3 && density <= 2) {
				return usageError{fmt.Errorf("--density %g: it may be 0.3 to 2 kg/m3", density)}
			}
			return a.predict(logbook, args[0], format, rotor.Surroundings{ControlDelayS: delayMS / 1e3, DensityKgM3: density})
		},
	}
	cmd.Flags().StringVar(&logbook, "logbook", ".", "folder of the logbook, with aircraft.toml")
	cmd.Flags().StringVar(&format, "format", "text", "text or json")
	cmd.Flags().Float64Var(&delayMS, "delay-ms", 0, "dead time between stick and swashplate, best as measured in a hop")
	cmd.Flags().Float64Var(&density, "density", 0, "air density in kg/m3 (0: 1.225, at sea level)")
	return cmd
}

func (a *app) predict(logbook, name, format string, s rotor.Surroundings) error {
	aircraft, ok, err := flight.ReadAircraft(logbook)
	if err != nil {
		return err
	}
	file := filepath.Join(logbook, flight.AircraftFile)
	if !ok {
		return fmt.Errorf("%s: there is no such file; name the folder that holds it with --logbook", file)
	}
	c := aircraft.Configuration(name)
	if c == nil {
		return fmt.Errorf("%s: no configuration is named %q; there is %s", file, name, namesOf(aircraft))
	}
	numbers, err := rotor.Predict(*c, s)
	if err != nil {
		return predictError(file, *c, err)
	}
	sensitivities, err := rotor.Sensitivities(*c, s)
	if err != nil {
		return predictError(file, *c, err)
	}
	p := report.Prediction{Configuration: *c, RotorTurns: aircraft.RotorTurns, Numbers: numbers, Sensitivities: sensitivities}
	if format == "json" {
		return report.PredictJSON(a.stdout, p)
	}
	return report.Predict(a.stdout, p)
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
