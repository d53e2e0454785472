package debrief

import (
	"math"
	"testing"

	"hopcard/analysis/response"
	"hopcard/flight"
)

func TestSettingsFromTheConfiguration(t *testing.T) {
	bare := flight.Configuration{
		Name: "bare", RotorSpeedRPM: 506, MassKg: 240, HubHeightM: 1.15, RollInertiaKgM2: 68, PitchInertKgM2: 135,
		RotorRadiusM: 3.1, BladeChordM: 0.17, FlapInertiaKg: 23.8, CyclicThrowDeg: 8,
	}
	barred := bare
	barred.Name, barred.Bar = "barred", &flight.Bar{WeightKg: 0.45, WeightAtM: 0.8}
	named := flight.Configuration{Name: "named", RotorSpeedRPM: 506}
	a := &flight.Aircraft{Configurations: []flight.Configuration{bare, barred, named}}
	speed := 506 * 2 * math.Pi / 60
	for _, c := range []struct {
		configuration string
		want          response.Settings
	}{
		{"bare", response.Settings{RotorSpeedRadS: speed, NoBar: true}},
		{"barred", response.Settings{RotorSpeedRadS: speed}},
		{"named", response.Settings{RotorSpeedRadS: speed}}, // may well have a bar
		{"unknown", response.Settings{}},
		{"", response.Settings{}},
	} {
		got := settingsOf(&flight.Hop{Configuration: c.configuration}, a)
		if got.RotorSpeedRadS != c.want.RotorSpeedRadS || got.NoBar != c.want.NoBar {
			t.Errorf("%q: %+v, want %+v", c.configuration, got, c.want)
		}
	}
}
