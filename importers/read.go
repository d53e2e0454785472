package importers

import (
	"context"
	"errors"
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"hopcard/flight"
)

// Options say how a hop is read.
type Options struct {
	// Settings overrule what is found; nil reads hop.toml in the hop's folder.
	Settings *flight.HopSettings
	// Progress, if set, is told how far the reading is, 0 to 1, and what is being read.
	Progress func(done float64, what string)
}

// ReadHop reads the hop at path, a folder of logs or one log, puts its channels on one
// clock and notes everything doubtful in Hop.Findings. An error is one line that names
// the file, the line or column, what is wrong and what to do.
func ReadHop(ctx context.Context, path string, o Options) (*flight.Hop, error) {
	paths, dir, err := flight.HopLogs(path)
	if err != nil {
		if errors.Is(err, flight.ErrNoLogs) {
			return nil, fmt.Errorf("%w; copy the loggers' files into it", err)
		}
		return nil, fileError(path, err)
	}
	if o.Settings == nil {
		if o.Settings, err = flight.ReadHopSettings(dir); err != nil {
			return nil, err
		}
	}
	if len(paths) > 1 || paths[0] != path {
		if err := checkOverrides(o.Settings, dir, paths); err != nil {
			return nil, err
		}
	}
	h := &flight.Hop{Name: hopName(path), Dir: path}
	if h.Plan, _, err = flight.ReadPlan(dir); err != nil {
		return nil, err
	}
	files, err := readAll(ctx, h, paths, o)
	if err != nil {
		return nil, err
	}
	assemble(h, files, o.Settings)
	applyHopSettings(h, o.Settings)
	for i, f := range files { // worked out beside everything else
		sum := <-f.hash
		if sum.err != nil {
			return nil, fileError(f.path, sum.err)
		}
		h.Sources[i].SHA256 = sum.sum
	}
	return h, nil
}

func hopName(path string) string {
	if abs, err := filepath.Abs(path); err == nil {
		path = abs
	}
	base := filepath.Base(path)
	if flight.IsLog(base) {
		base = strings.TrimSuffix(base, filepath.Ext(base))
	}
	return base
}

// readAll reads the files of a hop. A file that is no log is an error if it is the only
// one, otherwise a finding.
func readAll(ctx context.Context, h *flight.Hop, paths []string, o Options) ([]*logFile, error) {
	var files []*logFile
	var first error
	for i, p := range paths {
		name := filepath.Base(p)
		settings := o.Settings.File(name)
		if settings != nil && settings.Skip {
			h.Findings = append(h.Findings, flight.Finding{Code: flight.CodeUnrecognised, Severity: flight.Note, File: name,
				Text: "left out, as hop.toml says"})
			continue
		}
		progress := func(done float64) {
			if o.Progress != nil {
				o.Progress((float64(i)+done)/float64(len(paths)), "reading "+name)
			}
		}
		f, err := readLog(ctx, p, settings, progress)
		switch {
		case err == nil:
			f.takeFigures()
			f.agreeUnits()
			f.settleUnits()
			f.dataFaults()
			files = append(files, f)
		case ctx.Err() != nil:
			return nil, ctx.Err()
		case len(paths) == 1 || settings != nil:
			return nil, err
		default:
			if first == nil {
				first = err
			}
			h.Findings = append(h.Findings, flight.Finding{Code: flight.CodeUnrecognised, Severity: flight.Caution, File: name,
				Text:   "the file is not used: " + strings.TrimPrefix(err.Error(), p),
				Advice: "if it is a log, correct it; if not, leave it out with skip in hop.toml"})
		}
	}
	if len(files) == 0 {
		if first == nil {
			first = fmt.Errorf("%s: hop.toml leaves out every log of this hop", h.Dir)
		}
		return nil, first
	}
	return files, nil
}

// leadingLog returns the index of the log whose clock is the hop clock: the one with
// attitude, or else rates, of several the one with most rows.
func leadingLog(files []*logFile) int {
	best, bestScore := 0, -1.0
	for i, f := range files {
		score := 0.0
		for _, q := range []flight.Quantity{flight.Roll, flight.Pitch, flight.QuaternionW} {
			if f.find(q) != nil {
				score += 100
			}
		}
		for _, q := range []flight.Quantity{flight.RollRate, flight.PitchRate, flight.AccelZ} {
			if f.find(q) != nil {
				score += 10
			}
		}
		if f.special {
			score -= 1000
		}
		score += 1 - 1/(1+float64(len(f.stamps)))
		if score > bestScore || i == 0 {
			best, bestScore = i, score
		}
	}
	return best
}

// assemble puts the files of a hop together.
func assemble(h *flight.Hop, files []*logFile, settings *flight.HopSettings) {
	lead := leadingLog(files)
	for _, f := range files {
		f.attitudeFromQuaternion()
		f.role = roleOf(f)
	}
	var started time.Time
	if settings != nil {
		started = settings.StartedAt
	}
	alignClocks(files, lead, started)
	settleSigns(files, lead)
	l := files[lead]
	if !slices.ContainsFunc(files, func(f *logFile) bool { return f.find(flight.Roll) != nil || f.find(flight.Pitch) != nil }) {
		l.attitudeFromRates()
	}
	if l.time.absolute && !l.time.dayless {
		sec, frac := math.Modf(l.time.startS)
		h.StartedAt = time.Unix(int64(sec), int64(math.Round(frac*1e6))*1000).UTC()
	}
	for i, f := range files {
		h.Sources = append(h.Sources, f.source())
		h.Channels = append(h.Channels, f.channels(i)...)
		for _, n := range f.findings {
			if n.Span != (flight.Span{}) {
				n.Span = flight.Span{FromS: f.clock.HopTimeS(n.Span.FromS), ToS: f.clock.HopTimeS(n.Span.ToS)}
			}
			h.Findings = append(h.Findings, n)
		}
		for _, m := range f.marks {
			m.TimeS = f.clock.HopTimeS(m.TimeS)
			h.Marks = append(h.Marks, m)
		}
	}
	for i := range h.Channels {
		h.DurationS = math.Max(h.DurationS, h.Channels[i].Span().ToS)
	}
	missing(h)
	windShort(h, lead)
}

func (f *logFile) source() flight.Source {
	s := flight.Source{
		File: f.name, Role: f.role, Rows: f.rows, Clock: f.clock, Dress: f.dress.words(f.time.words),
	}
	if !f.special {
		s.TimeColumns = f.time.columns()
	}
	if f.stepS > 0 {
		s.RateHz = (1 + f.clock.DriftPPM*1e-6) / f.stepS
	}
	return s
}

// channels turns the columns into channels in SI with our signs, on hop time.
func (f *logFile) channels(source int) []flight.Channel {
	times := make([]float64, len(f.stamps))
	for i, s := range f.stamps {
		times[i] = f.clock.HopTimeS(s)
	}
	out := make([]flight.Channel, len(f.columns))
	onAllCores(len(out), func(i int) {
		c := f.columns[i]
		out[i] = flight.Channel{
			Quantity: c.quantity, TimeS: times, Value: c.values, Source: source, Column: c.header, Unit: c.unit,
			Guessed: c.guessed, Sign: c.sign, Scale: c.scale, Zero: c.zero, Sure: c.sure, Derived: c.derived,
			StepSI: c.figures.step * math.Abs(c.scale), Withheld: c.withheld,
		}
		k := float64(c.sign) * c.scale
		for j, v := range c.values {
			c.values[j] = k * (v - c.zero)
		}
		out[i] = dropBlanks(out[i], c.figures.n)
	})
	return out
}

// dropBlanks gives a channel that is written in few rows only (a slow sensor in a fast
// log) its own stamps; n is the number of its values.
func dropBlanks(c flight.Channel, n int) flight.Channel {
	if 5*n > 4*len(c.Value) || n == 0 {
		return c
	}
	times, values := make([]float64, 0, n), make([]float64, 0, n)
	for i, v := range c.Value {
		if v == v {
			times, values = append(times, c.TimeS[i]), append(values, v)
		}
	}
	c.TimeS, c.Value = times, values
	return c
}

func roleOf(f *logFile) flight.Role {
	att := f.find(flight.Roll) != nil || f.find(flight.Pitch) != nil || f.find(flight.RollRate) != nil ||
		f.find(flight.PitchRate) != nil
	stick := f.find(flight.LatStick) != nil || f.find(flight.LonStick) != nil || f.find(flight.Collective) != nil ||
		f.find(flight.Pedal) != nil
	wind := f.find(flight.WindSpeed) != nil || f.find(flight.WindNorth) != nil
	switch {
	case att && !stick && !wind:
		return flight.RoleAttitude
	case stick && !att && !wind:
		return flight.RoleStick
	case wind && !att && !stick:
		return flight.RoleWind
	case att || stick || wind:
		return flight.RoleMixed
	}
	return flight.RoleNone
}

// missing notes what the analysis needs and no file holds.
func missing(h *flight.Hop) {
	note := func(sev flight.Severity, text, advice string) {
		h.Findings = append(h.Findings, flight.Finding{Code: flight.CodeMissing, Severity: sev, Text: text, Advice: advice})
	}
	holds := func(q flight.Quantity) bool { // withheld or not
		return slices.ContainsFunc(h.Channels, func(c flight.Channel) bool { return c.Quantity == q })
	}
	if !holds(flight.Roll) && !holds(flight.Pitch) {
		note(flight.Stop, "no log holds roll or pitch attitude", "log attitude, or name the columns in hop.toml")
	}
	if h.Channel(flight.LatStick) == nil && h.Channel(flight.LonStick) == nil {
		note(flight.Caution, "no log holds a stick: delay, lag and control left cannot be given",
			"log the stick, or name its columns in hop.toml")
	}
}

func applyHopSettings(h *flight.Hop, s *flight.HopSettings) {
	if s == nil {
		return
	}
	h.Configuration, h.Notes = s.Configuration, s.Notes
	if !s.StartedAt.IsZero() {
		h.StartedAt = s.StartedAt
	}
	for _, e := range s.Exclude {
		h.Exclude = append(h.Exclude, flight.Span{FromS: e.FromS, ToS: e.ToS})
	}
	for _, m := range s.Marks {
		h.Marks = append(h.Marks, flight.Mark{TimeS: m.TimeS, Text: m.Text})
	}
}
