package report

import (
	"fmt"
	"io"
	"math"
	"strings"

	"hopcard/analysis/identify"
	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// Prediction is a configuration on paper: what the rotor model says about it.
type Prediction struct {
	Configuration flight.Configuration
	Changes       []identify.Changed // tried on paper, already in Configuration
	RotorTurns    string             // as in aircraft.toml; empty if unknown
	Numbers       *rotor.Prediction
	Sensitivities []rotor.Sensitivity
	Charts        []rotor.DesignChart
}

// Predict writes a prediction as tables for the terminal: the rotor head, each axis, how
// the numbers move with each dimension, what was assumed, and what to beware of. The only
// error is one of w.
func Predict(w io.Writer, c Prediction) error {
	p := &page{}
	p.line("%s: the rotor head on paper", Short(c.Configuration.Name, nameLength))
	if c.Configuration.Note != "" {
		p.line("%s", Short(c.Configuration.Note, pageWidth))
	}
	for _, x := range c.Changes {
		p.line("  tried: %s %.6g -> %.6g", x.Key, x.From, x.To)
	}
	p.blank()
	p.columns(headRows(c))
	p.wrapped("  phasing: ", c.phasing())
	p.blank()
	p.columns(axisRows(c.Numbers))
	p.blank()
	predictMeanings(p)
	predictSensitivities(p, c)
	designCharts(p, c.Charts)
	p.blank()
	p.line("assumed")
	for _, a := range c.Numbers.Assumptions {
		p.wrapped("  - ", Short(a, textLength))
	}
	p.blank()
	p.line("beware")
	for _, text := range paperCautions() {
		p.wrapped("  - ", text)
	}
	_, err := io.WriteString(w, p.b.String())
	return err
}

func headRows(c Prediction) [][]string {
	n := c.Numbers
	rows := [][]string{
		{"rotor head", "", ""},
		{"Lock number", significant(n.Head.LockNumber, 3), ""},
		{"flap frequency", fixed(n.FlapFrequencyPerRev, 3), "per revolution"},
		{"phase lag of the blades", fixed(n.LagRad*degPerRad, 1), "deg of azimuth"},
		{"following time of the disc", fixed(n.DiscTimeS*1e3, 0), "ms"},
	}
	if finite(n.BarTimeS) {
		rows = append(rows, []string{"following time of the bar", fixed(n.BarTimeS*1e3, 0), "ms"})
	}
	return append(rows, []string{"disc tilt at full stick", fixed(n.StickDiscRad*degPerRad, 1), "deg"})
}

// phasing words the phasing error. Without an advance angle there is none to tell: the
// model then takes the swashplate to be set right.
func (c Prediction) phasing() string {
	if c.Configuration.AdvanceDeg == 0 {
		return "not told; give advance_angle_deg, here taken to be the lag of the blades"
	}
	return PhasingText(c.Numbers.PhasingErrorRad, c.RotorTurns)
}

// phasingNone is the phasing error that no swashplate can be set to within.
const phasingNone = 0.05 / degPerRad

// PhasingText words a phasing error (advance angle less lag of the blades) as its size
// and, where it is known which way the rotor turns, the correction. An input further ahead
// than the blades lag comes too early, so the answer lies too far against the rotation;
// which way roll and pitch are mixed by it is not said.
func PhasingText(errorRad float64, rotorTurns string) string {
	size := fixed(math.Abs(errorRad)*degPerRad, 1) + " deg"
	switch {
	case !finite(errorRad):
		return notMeasured
	case math.Abs(errorRad) < phasingNone:
		return "the advance angle is the lag of the blades: no phasing error"
	case rotorTurns == "":
		return fmt.Sprintf("error %s of azimuth; which way to turn the swashplate depends on the rotor: "+
			"set rotor_turns in %s", size, flight.AircraftFile)
	}
	when, way, seen := "early", "in", rotorTurns
	if errorRad < 0 {
		when, way, seen = "late", "against", opposite(rotorTurns)
	}
	return fmt.Sprintf("the input is %s too %s: turn the swashplate input %s %s the direction of rotation (%s seen from above)",
		size, when, size, way, seen)
}

func opposite(turns string) string {
	if turns == "clockwise" {
		return "counter-clockwise"
	}
	return "clockwise"
}

// axisRows is the table of both axes.
func axisRows(n *rotor.Prediction) [][]string {
	rows := [][]string{{"answer", "unit", "roll", "pitch"}}
	add := func(name, unit string, decimals int, of func(rotor.AxisPrediction) float64) {
		row := []string{name, unit}
		for _, a := range []rotor.AxisPrediction{n.Roll, n.Pitch} {
			text := "none"
			if v := of(a); finite(v) {
				text = fixed(v, decimals)
			}
			row = append(row, text)
		}
		if row[2] != "none" || row[3] != "none" {
			rows = append(rows, row)
		}
	}
	type axis = rotor.AxisPrediction
	add("bandwidth", "rad/s", 2, func(a axis) float64 { return a.Bandwidth.BandwidthRadS })
	add("180 deg behind at", "rad/s", 2, func(a axis) float64 { return a.Bandwidth.W180RadS })
	add("phase delay", "ms", 0, func(a axis) float64 { return a.Bandwidth.PhaseDelayS * 1e3 })
	add("coupling at 2 rad/s", "", 2, func(a axis) float64 { return a.Coupling })
	for _, m := range []struct {
		name string
		of   func(axis) *rotor.Mode
	}{
		{"hover oscillation", func(a axis) *rotor.Mode { return a.Hover }},
		{"short oscillation", func(a axis) *rotor.Mode { return a.Short }},
	} {
		mode := func(f func(rotor.Mode) float64) func(axis) float64 {
			return func(a axis) float64 {
				if s := m.of(a); s != nil {
					return f(*s)
				}
				return math.NaN()
			}
		}
		add(m.name+", period", "s", 1, mode(rotor.Mode.PeriodS))
		add("  damping ratio", "", 2, mode(rotor.Mode.DampingRatio))
		add("  time to half", "s", 1, mode(positiveOnly(rotor.Mode.TimeToHalfS, 1)))
		add("  GROWS: time to double", "s", 1, mode(positiveOnly(rotor.Mode.TimeToHalfS, -1)))
	}
	pilotRows(add)
	for k, w := range rotor.GustAtRadS() {
		add(fmt.Sprintf("gust at %g rad/s", w), "deg per m/s", 2, func(a axis) float64 { return a.GustRadPerMS[k] * degPerRad })
	}
	return rows
}

// pilotRows adds what room the aircraft leaves to each of the assumed pilots.
func pilotRows(add func(name, unit string, decimals int, of func(rotor.AxisPrediction) float64)) {
	for k, d := range rotor.PilotDelaysS() {
		room := func(get func(rotor.PilotRoom) float64) func(rotor.AxisPrediction) float64 {
			return func(a rotor.AxisPrediction) float64 { return get(a.Pilots[k]) }
		}
		add(fmt.Sprintf("pilot of %g s: most gain", d), "%/deg", 2, room(func(r rotor.PilotRoom) float64 { return perDegree(r.MostGainPerRad) }))
		add("  least gain to hold the hover", "%/deg", 2, room(func(r rotor.PilotRoom) float64 {
			if r.LeastGainPerRad == 0 {
				return math.NaN()
			}
			return perDegree(r.LeastGainPerRad)
		}))
		add("  phase margin at half the most", "deg", 0, room(func(r rotor.PilotRoom) float64 { return r.PhaseMarginDeg }))
	}
}

// perDegree turns a gain in fractions of full travel per rad into percent per deg.
func perDegree(gainPerRad float64) float64 { return 100 * gainPerRad / degPerRad }

// positiveOnly is f times sign where that is positive, NaN elsewhere.
func positiveOnly(f func(rotor.Mode) float64, sign float64) func(rotor.Mode) float64 {
	return func(m rotor.Mode) float64 {
		if v := sign * f(m); v > 0 {
			return v
		}
		return math.NaN()
	}
}

func predictMeanings(p *page) {
	for _, text := range predictMeaningTexts() {
		p.wrapped("  ", text)
	}
}

func predictMeaningTexts() []string {
	return []string{
		"the other stick held; bandwidth, 180 deg and phase delay are of stick to attitude, as ADS-33E-PRF (2000), 3.3.2.1, defines them",
		"hover and short oscillation: the slowest and the fastest swing of the airframe with the stick held",
		"pilot: one who answers attitude with stick, in percent of full travel per deg, after that reaction time: beyond the most gain the loop grows, " +
			"below the least the hover oscillation does; where the least is above the most he must lead",
		"gust: attitude per speed of a gust from ahead (pitch) or from the right (roll), stick held",
	}
}

// paperCautions stand under every prediction.
func paperCautions() []string {
	return []string{
		"These are numbers of a model, without an interval. Trust a measured number before them.",
		"They hold in the hover, for small angles. They say nothing about forward flight, ground effect, blade loads, vibration, or mast bumping in low g.",
		"Where a swing grows, the aircraft never settles by itself: take its answer to gusts near that swing as a sign that it must be flown, not as a size.",
		"Without the dead time of the control path, bandwidth comes out too high and phase delay too short.",
		"Change one thing at a time, weigh and measure it, and fly it first in calm air. Local rules and a licensed inspection come before any card.",
	}
}

// predictSensitivities writes how the numbers move with each dimension, one table for the
// head and one for each axis.
func predictSensitivities(p *page, c Prediction) {
	for _, t := range sensitivityTables() {
		rows := sensitivityTable(t.title, t.columns, c.Sensitivities)
		if len(rows) > 1 {
			p.blank()
			p.columns(rows)
		}
	}
	p.wrapped("  ", sensitivityMeaning)
}

const sensitivityMeaning = "each row: how much a number moves when the dimension grows by 1 %, hinge (delta3) and advance angle by 1 deg; a dot: not at all; phasing + is earlier"

// sensitivityTables says which numbers stand in which table.
func sensitivityTables() []sensitivityNumbers {
	return []sensitivityNumbers{
		{"rotor head", []sensitivityColumn{
			{"phase lag of the blades", "lag deg", 1, 2}, {"phasing error", "phasing deg", 1, 2},
			{"following time of the disc", "disc ms", 1e3, 2}, {"following time of the bar", "bar ms", 1e3, 2},
			{"disc tilt at full stick", "tilt deg", 1, 3},
		}},
		{"roll", axisColumns("roll")},
		{"pitch", axisColumns("pitch")},
	}
}

type sensitivityNumbers struct {
	title   string
	columns []sensitivityColumn
}

type sensitivityColumn struct {
	number, heading string
	k               float64
	decimals        int
}

func axisColumns(axis string) []sensitivityColumn {
	return []sensitivityColumn{
		{axis + ", bandwidth", "bandwidth rad/s", 1, 3},
		{axis + ", phase delay", "delay ms", 1e3, 2},
		{axis + ", damping ratio of the hover oscillation", "hover damping", 1, 4},
		{axis + ", deg per m/s of gust at 1 rad/s", "gust at 1 rad/s", 1, 4},
	}
}

// sensitivityTable has a row for each dimension that moves one of the numbers.
func sensitivityTable(title string, columns []sensitivityColumn, list []rotor.Sensitivity) [][]string {
	rows := [][]string{{title + " moves with"}}
	used := make([]bool, len(columns))
	var keys []string
	cells := map[string][]string{}
	for _, s := range list {
		for i, col := range columns {
			if s.Number.Name != col.number {
				continue
			}
			if cells[s.Key] == nil {
				keys = append(keys, s.Key)
				cells[s.Key] = make([]string, len(columns))
			}
			text := fixed(s.PerStep*col.k, col.decimals)
			if strings.Trim(text, "-0.") == "" {
				text = ""
			} else {
				used[i] = true
				if s.PerStep > 0 {
					text = "+" + text
				}
			}
			cells[s.Key][i] = text
		}
	}
	for i, col := range columns {
		if used[i] {
			rows[0] = append(rows[0], col.heading)
		}
	}
	for _, key := range keys {
		row, moves := []string{key}, false
		for i := range columns {
			if used[i] {
				row = append(row, orElse(cells[key][i], "."))
				moves = moves || cells[key][i] != ""
			}
		}
		if moves {
			rows = append(rows, row)
		}
	}
	return rows
}
