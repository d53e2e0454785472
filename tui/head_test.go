package tui

import (
	"io"
	"math"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/lipgloss"
	"github.com/muesli/termenv"

	"hopcard/analysis/response"
	"hopcard/flight"
)

// headOn is the head screen with the first fake configuration that has a bar in hand.
func headOn(t *testing.T) *headView {
	t.Helper()
	v := newHeadView(&desk{opts: fakeOptions(2), theme: newTheme(lipgloss.NewRenderer(io.Discard))})
	v.SetSize(120, 40)
	v.ready()
	for range v.configurations() {
		if v.asIs != nil && v.turned.Bar != nil {
			return v
		}
		v.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("c")})
	}
	t.Fatal("no fake configuration has a bar and all dimensions")
	return nil
}

// inHand puts the dimension of that key in hand.
func (v *headView) inHand(t *testing.T, key string) {
	t.Helper()
	for i, d := range v.dims {
		if d.Key == key {
			v.choose(i)
			return
		}
	}
	t.Fatalf("no dimension %s", key)
}

func TestTurningTheBarWeightSlowsTheBar(t *testing.T) {
	v := headOn(t)
	v.inHand(t, "bar.weight_kg")
	v.Update(tea.KeyMsg{Type: tea.KeyShiftRight})
	if is, was := v.now.BarTimeS, v.asIs.BarTimeS; !(is > was) {
		t.Errorf("ten steps more weight: the bar follows in %g s, before in %g s", is, was)
	}
	if got, want := v.turned.Bar.WeightKg, 1.1*v.configurations()[v.config].Bar.WeightKg; math.Abs(got-want) > 1e-9 {
		t.Errorf("ten steps of a hundredth make %g kg, want %g", got, want)
	}
	v.Update(tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune("w")})
	if v.now.BarTimeS != v.asIs.BarTimeS || v.turned.Bar.WeightKg != v.configurations()[v.config].Bar.WeightKg {
		t.Error("not as it was")
	}
}

// The swashplate stays where it is when the hinge is turned, whether its angle is given or
// assumed.
func TestTurningTheHingePutsThePhasingOut(t *testing.T) {
	v := headOn(t)
	v.inHand(t, "delta3_deg")
	before := v.now.PhasingErrorRad
	v.Update(tea.KeyMsg{Type: tea.KeyRight})
	if moved := math.Abs(v.now.PhasingErrorRad-before) * degPerRad; math.Abs(moved-1) > 0.05 {
		t.Errorf("a degree of hinge moved the phasing by %g deg", moved)
	}
}

func TestTurnedIntoNoHead(t *testing.T) {
	v := headOn(t)
	v.inHand(t, "rotor_speed_rpm")
	for range 15 {
		v.Update(tea.KeyMsg{Type: tea.KeyShiftLeft})
	}
	if v.now != nil || v.err == nil {
		t.Fatal("a rotor that turns backwards was predicted")
	}
	if s := v.View(); s == "" {
		t.Error("nothing shown")
	}
}

// Every number that a hop can measure has a name that the prediction has too.
func TestMeasuredNumbersFindTheirPlace(t *testing.T) {
	v := headOn(t)
	d := fakeDebrief("hop-01", 100, 50)
	d.Hop.Configuration = v.configurations()[v.config].Name
	v.desk.current = &opened{d: d}
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		v.axis = axis
		measured := 0
		for _, n := range v.numbers() {
			if n.measured != nil {
				measured++
			}
		}
		if measured < 4 {
			t.Errorf("%s: only %d numbers stand beside the prediction", axis, measured)
		}
	}
	d.Hop.Configuration = "another"
	for _, n := range v.numbers() {
		if n.measured != nil {
			t.Errorf("%s of another configuration stands beside the prediction", n.name)
		}
	}
}

// Numbers of the head carry their units, also on the smallest window.
func TestHeadNumbersHaveUnits(t *testing.T) {
	m := started(t, fakeOptions(1), 80, 24, termenv.Ascii)
	press(m, "enter", "9")
	contains(t, m.View(), "lag of blades deg ", "bandwidth rad/s ", "phase delay ms ", "slow swing period s ", "%/deg ",
		"gust: deg per m/s; room: % of stick per deg before swings grow", "No number here clears a flight.")
	lacks(t, m.View(), "…")
}

// The lag in revolutions of the rotor stands with the lag it is of, in the card's word.
func TestLagInRevolutions(t *testing.T) {
	lag := &flight.Estimate{Value: 0.3, Low: 0.2, High: 0.4}
	fs := figuresOf(nil, &response.Result{CorrelationLagS: lag, WeightedCorrelationLagS: lag, RotorSpeedRadS: 2 * math.Pi * 8, DoubletLagS: lag})
	var names []string
	for _, f := range fs {
		names = append(names, f.name+" "+f.unit)
	}
	if got, want := strings.Join(names, ", "), "corr. lag ms,   weighted ms,   of rotor rev, doublet lag ms"; got != want {
		t.Errorf("numbers %q, want %q", got, want)
	}
}
