package report

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/gocarina/gocsv"

	"hopcard/analysis/debrief"
	"hopcard/analysis/response"
	"hopcard/analysis/stability"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// csvRow is a row of the card as a table. Value, low and high are in unit; cells without
// a number are empty, so that a missing interval is seen to be missing.
type csvRow struct {
	Item  string `csv:"item"`
	Axis  string `csv:"axis"`
	Value string `csv:"value"`
	Low   string `csv:"low"`
	High  string `csv:"high"`
	Unit  string `csv:"unit"`
	Text  string `csv:"text"`
	FromS string `csv:"from_s"`
	ToS   string `csv:"to_s"`
}

// CSV writes the numbers, flags and findings of the card as one long table: comma,
// decimal point, a header row. Text from outside is cleaned, and no cell of text begins
// as a formula does. The only error is one of w.
func CSV(w io.Writer, d *debrief.Debrief) error {
	t := &csvTable{}
	t.hop(d)
	t.delays(d)
	t.wind(d)
	t.stability(d)
	t.findings(d)
	for i := range t.rows {
		t.rows[i].defuse()
	}
	return gocsv.Marshal(t.rows, w)
}

type csvTable struct{ rows []csvRow }

// defuse makes the cells of text safe.
func (r *csvRow) defuse() {
	for _, cell := range []*string{&r.Item, &r.Axis, &r.Unit, &r.Text} {
		*cell = inertCell(*cell)
	}
}

// inertCell puts an apostrophe before what a spreadsheet could take for a formula. It
// looks past blanks and quotes, as some spreadsheets do when they open a file.
func inertCell(s string) string {
	s = Clean(s)
	r, _ := utf8.DecodeRuneInString(strings.TrimLeft(s, " '\""))
	if strings.ContainsRune("=+-@|%＝＋－＠", r) {
		return "'" + s
	}
	return s
}

func (t *csvTable) text(item, text string) {
	if text != "" {
		t.rows = append(t.rows, csvRow{Item: item, Text: text})
	}
}

// estimate adds a row for an estimate times k, none if there is no number.
func (t *csvTable) estimate(item string, axis flight.Axis, e *flight.Estimate, k float64, unit string, span flight.Span) {
	if e == nil || !finite(e.Value*k) {
		return
	}
	s := e.Times(k)
	r := csvRow{Item: item, Axis: string(axis), Value: csvNumber(s.Value), Low: csvNumber(s.Low), High: csvNumber(s.High), Unit: unit}
	if !s.HasInterval() {
		r.Low, r.High, r.Text = "", "", "no interval"
	}
	r.span(span)
	t.rows = append(t.rows, r)
}

// plain adds a number that carries no interval.
func (t *csvTable) plain(item string, axis flight.Axis, x float64, unit string) {
	t.estimate(item, axis, flight.Plain(x), 1, unit, flight.Span{})
}

func (r *csvRow) span(s flight.Span) {
	if s != (flight.Span{}) {
		r.FromS, r.ToS = csvNumber(s.FromS), csvNumber(s.ToS)
	}
}

// csvNumber has as many digits as JSON has; nothing for what is no number or is open.
func csvNumber(x float64) string {
	if !finite(x) {
		return ""
	}
	return strconv.FormatFloat(rounded(x), 'g', -1, 64)
}

func (t *csvTable) hop(d *debrief.Debrief) {
	h := d.Hop
	t.text("hop", h.Name)
	t.text("aircraft", d.Aircraft.Name)
	t.text("field", d.Aircraft.Field)
	t.text("configuration", h.Configuration)
	t.text("started at", dateOf(h.StartedAt))
	t.plain("logged", "", h.DurationS, "s")
	t.text("notes", h.Notes)
	t.text("verdict", verdictWord(d.Verdict.Proceed))
	for _, r := range gravestFirst(d.Verdict.Reasons) {
		row := csvRow{Item: "reason: " + verdictWord(r.Weight), Text: r.Text}
		row.span(r.Span)
		t.rows = append(t.rows, row)
	}
	for _, a := range d.Verdict.Advice {
		t.text("advice", a)
	}
}

func (t *csvTable) delays(d *debrief.Debrief) {
	for _, row := range delayRows() {
		name := strings.Replace(row.name, "  ", "correlation lag, ", 1)
		for _, a := range answeredAxes(d) {
			t.estimate(name, a, firstOf(onAxis(d, a), row.get), row.k, row.unit, flight.Span{})
		}
	}
	for _, a := range answeredAxes(d) {
		for _, r := range onAxis(d, a) {
			t.response(a, r)
		}
	}
	t.estimate("phasing error", "", d.PhasingErrorRad, degPerRad, "deg", flight.Span{})
}

// response adds the phase lags and the fitted model of one response.
func (t *csvTable) response(a flight.Axis, r *response.Result) {
	for _, l := range r.Lag {
		name := fmt.Sprintf("%s lag at %s rad/s", r.Output, significant(l.FrequencyRadS, 3))
		t.estimate(name, a, &l.PhaseDeg, 1, "deg", flight.Span{})
		t.estimate(name, a, &l.TimeS, 1e3, "ms", flight.Span{})
	}
	if r.Model == nil {
		return
	}
	for _, q := range r.Model.Parameters { // their names carry their units
		t.estimate(fmt.Sprintf("model of %s: %s", r.Output, q.Name), a, &q.Estimate, 1, "", flight.Span{})
	}
	t.plain(fmt.Sprintf("model of %s: fit", r.Output), a, r.Model.FitPercent, "%")
}

func (t *csvTable) wind(d *debrief.Debrief) {
	if w := d.Wind.Whole; w != nil {
		t.text("wind class", string(w.Class))
		for _, q := range []struct {
			name string
			e    *flight.Estimate
			k    float64
			unit string
		}{
			{"wind mean", w.MeanMS, 1, "m/s"}, {"wind standard deviation", w.SDMS, 1, "m/s"},
			{"3 s gust", w.Gust3sMS, 1, "m/s"}, {"3 s lull", w.Lull3sMS, 1, "m/s"}, {"gust spread", w.SpreadMS, 1, "m/s"},
			{"gust factor", w.GustFactor, 1, ""}, {"turbulence intensity", w.TurbulenceIntensity, 1, ""},
			{"wind from", w.DirectionRad, degPerRad, "deg"}, {"wind from, standard deviation", w.DirectionSDRad, degPerRad, "deg"},
			{"wind from ahead", w.HeadMS, 1, "m/s"}, {"wind from the right", w.CrossMS, 1, "m/s"},
		} {
			t.estimate(q.name, "", q.e, q.k, q.unit, w.Span)
		}
	}
	for _, g := range d.Wind.Gusts {
		band := fmt.Sprintf(", %s to %s rad/s", significant(g.BandRadS[0], 2), significant(g.BandRadS[1], 2))
		t.estimate("answer to gusts, stick held"+band, g.Axis, g.RadPerMS, degPerRad, "deg per m/s", flight.Span{})
		t.estimate("answer to gusts, single input"+band, g.Axis, g.PilotInLoopRadPerMS, degPerRad, "deg per m/s", flight.Span{})
	}
	t.classes(d.Wind.Classes)
	for _, g := range onePerAxis(d.Wind.Gusts) {
		t.plain("gusts averaged", g.Axis, float64(g.Events), "")
		t.estimate("mean answer to gusts, peak", g.Axis, g.PeakRadPerMS, degPerRad, "deg per m/s", flight.Span{})
		t.estimate("mean answer to gusts, time to peak", g.Axis, g.TimeToPeakS, 1, "s", flight.Span{})
		t.estimate("mean answer to gusts, time to settle", g.Axis, g.SettleS, 1, "s", flight.Span{})
		if s := lastsFor(&d.Wind, &g); g.SettleS == nil && finite(s) {
			t.plain("mean answer to gusts, not settled before", g.Axis, s, "s")
		}
	}
}

// classes adds the table of the hop by class of air.
func (t *csvTable) classes(rows []wind.ClassRow) {
	for _, c := range rows {
		in := "in " + string(c.Class) + " air, "
		t.plain(in+"time", "", c.TimeS, "s")
		t.plain(in+"wind mean", "", c.MeanMS, "m/s")
		if c.Flags >= 0 {
			t.plain(in+"growing swings", "", float64(c.Flags), "")
		}
		for _, m := range c.Motion {
			t.plain(in+"attitude rms", m.Axis, m.AttitudeRMS*degPerRad, "deg")
			t.plain(in+"rate rms", m.Axis, m.RateRMS*degPerRad, "deg/s")
		}
		for _, w := range c.Work {
			t.plain(in+"stick rms", w.Axis, 100*w.RMS, "%")
			t.plain(in+"stick rate rms", w.Axis, 100*w.RateRMSPerS, "% per s")
			t.plain(in+"reversals", w.Axis, w.ReversalsPerMin, "per min")
			t.plain(in+"time within 10 % of a stop", w.Axis, 100*w.NearStopShare, "%")
			t.plain(in+"control left", w.Axis, 100*w.LeftFraction, "%")
		}
		for _, a := range c.Answers {
			t.estimate(fmt.Sprintf("%sanswer to gusts, stick held, %s to %s rad/s", in, significant(a.BandRadS[0], 2), significant(a.BandRadS[1], 2)),
				a.Axis, a.RadPerMS, degPerRad, "deg per m/s", flight.Span{})
		}
	}
}

func (t *csvTable) stability(d *debrief.Debrief) {
	s := &d.Stability
	for _, m := range s.Modes {
		t.estimate("mode, frequency", m.Axis, m.FrequencyRadS, 1, "rad/s", m.Span)
		t.estimate("mode, damping ratio", m.Axis, m.DampingRatio, 1, "", m.Span)
		t.estimate("mode, time to half", m.Axis, m.TimeToHalfS, 1, "s", m.Span)
		t.estimate("mode, time to double", m.Axis, m.TimeToDoubleS, 1, "s", m.Span)
	}
	for _, m := range s.Margins {
		t.estimate("crossover", m.Axis, m.CrossoverRadS, 1, "rad/s", flight.Span{})
		t.estimate("phase margin", m.Axis, m.PhaseMarginDeg, 1, "deg", flight.Span{})
		t.estimate("gain margin", m.Axis, m.GainMarginDB, 1, "dB", flight.Span{})
		t.estimate("gain may fall by", m.Axis, m.GainLowDB, 1, "dB", flight.Span{})
		t.pilots(&m)
	}
	for _, u := range s.Unstable {
		row := csvRow{Item: "flag: " + string(u.Kind), Axis: string(u.Axis), Text: u.Reason}
		row.span(u.Span)
		t.rows = append(t.rows, row)
		t.estimate("flag, growth", u.Axis, u.GrowthPerS, 1, "per s", u.Span)
		t.estimate("flag, frequency", u.Axis, u.FrequencyRadS, 1, "rad/s", u.Span)
	}
	for _, c := range s.Control {
		t.plain("control used", c.Axis, c.UsedPercent, "%")
		t.plain("control left", c.Axis, c.LeftPercent, "%")
		t.plain("within 10 % of a stop", c.Axis, c.AtStopS, "s")
	}
}

// pilots adds the pilot as measured and the assumed ones.
func (t *csvTable) pilots(m *stability.Margin) {
	if p := m.Pilot; p != nil {
		t.rows = append(t.rows, csvRow{Item: "pilot, method", Axis: string(m.Axis), Text: p.Method})
		t.estimate("pilot, gain", m.Axis, p.GainPerRad, percentPerDeg, "percent per deg", flight.Span{})
		t.estimate("pilot, lead", m.Axis, p.LeadS, 1, "s", flight.Span{})
		t.estimate("pilot, delay", m.Axis, p.DelayS, 1, "s", flight.Span{})
		t.plain("pilot, fit", m.Axis, p.FitPercent, "%")
	}
	for i := range m.Assumed {
		a := &m.Assumed[i]
		with := fmt.Sprintf(", pilot of %s s", strconv.FormatFloat(rounded(a.DelayS), 'g', 3, 64))
		t.estimate("crossover"+with, m.Axis, a.CrossoverRadS, 1, "rad/s", flight.Span{})
		t.estimate("phase margin"+with, m.Axis, a.PhaseMarginDeg, 1, "deg", flight.Span{})
		t.estimate("gain margin"+with, m.Axis, a.GainMarginDB, 1, "dB", flight.Span{})
		t.estimate("gain from which it grows"+with, m.Axis, a.MostGainPerRad, percentPerDeg, "percent per deg", flight.Span{})
	}
}

func (t *csvTable) findings(d *debrief.Debrief) {
	for _, f := range d.Findings {
		where := f.File
		if f.Channel != "" {
			where = strings.TrimPrefix(where+", "+f.Channel, ", ")
		}
		text := Sentences(f.Text, f.Advice)
		if where != "" {
			text = where + ": " + text
		}
		row := csvRow{Item: fmt.Sprintf("finding: %s, %s", f.Severity, f.Code), Text: text}
		row.span(f.Span)
		t.rows = append(t.rows, row)
	}
}
