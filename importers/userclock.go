package importers

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"hopcard/flight"
)

const (
	// leastUserIntervalS is the narrowest interval that an offset set by hand is taken to
	// have unless hop.toml states one: nobody reads two traces against each other better.
	leastUserIntervalS = 0.005
	// userDriftPPM is how far two loggers' crystals may run apart where hop.toml gives no
	// drift: some 30 ppm each, as data sheets of cheap ones promise (from memory).
	userDriftPPM = 50
)

// userClock applies what hop.toml says about the clock; l is the leading log.
func (f *logFile) userClock(l *logFile) {
	s := f.settings
	if s == nil {
		return
	}
	if s.ClockOffsetS == nil {
		if s.ClockDriftPPM != nil {
			f.userDrift(l, *s.ClockDriftPPM)
		}
		return
	}
	found := f.clock
	f.clock = flight.Clock{OffsetS: *s.ClockOffsetS, AlignedBy: flight.AlignUser, ResidualS: nan}
	if s.ClockDriftPPM != nil {
		f.clock.DriftPPM = *s.ClockDriftPPM
	}
	kept := f.findings[:0]
	for _, n := range f.findings {
		if n.Code != flight.CodeNoClock {
			kept = append(kept, n)
		}
	}
	f.findings = kept
	step := offsetStepS(s)
	switch {
	case s.ClockIntervalS != nil:
		f.clock.IntervalS = *s.ClockIntervalS
	case f == l && math.Abs(f.clock.OffsetS-found.OffsetS) <= step/2:
		// The hop clock is this one: the number only repeats where it starts.
	default:
		f.assumeInterval(l, step)
	}
}

// userDrift applies a drift that is set by hand without an offset. It corrects a clock
// that is tied; alone it ties nothing.
func (f *logFile) userDrift(l *logFile, ppm float64) {
	if f.clock.Drift != nil { // what was measured and what the crew say cannot both hold
		f.clock.IntervalS += 1e-6 * math.Abs(ppm-f.clock.DriftPPM) * l.lengthS()
	}
	f.clock.DriftPPM, f.clock.Drift = ppm, nil
	if f.clock.AlignedBy != flight.AlignNone {
		return
	}
	for i := range f.findings {
		if n := &f.findings[i]; n.Code == flight.CodeNoClock {
			n.Text += "; clock_drift_ppm in hop.toml ties nothing without clock_offset_s"
		}
	}
}

// assumeInterval gives an offset set by hand an interval where hop.toml states none: half
// a row of the slower log, which is as fine as their rows can be laid side by side,
// half of the last digit written, and the drift that cheap clocks may have if none is
// given. The sum, not its root, for these are limits.
func (f *logFile) assumeInterval(l *logFile, step float64) {
	row := math.Max(f.rowStepS(), l.rowStepS())
	half := row/2 + step/2
	why := fmt.Sprintf("half a row of %.3g s, half of the %.3g s of its last digit", row, step)
	if f.settings.ClockDriftPPM == nil {
		half += 1e-6 * userDriftPPM * l.lengthS()
		why += fmt.Sprintf(", %d ppm of drift over %.0f s", userDriftPPM, l.lengthS())
	}
	if half < leastUserIntervalS {
		half, why = leastUserIntervalS, "the least that is assumed"
	}
	f.clock.IntervalS = half
	f.add(flight.CodeUnitGuessed, flight.Note, f.time.label, flight.Span{},
		fmt.Sprintf("clock_offset_s in hop.toml comes without clock_interval_s: its stamps are taken to be good to %.3g s either way (%s)", half, why),
		"give clock_interval_s in hop.toml, the half width of the 95 % interval of the offset; delays timed between the logs are that uncertain")
}

func (f *logFile) lengthS() float64 { return f.stamps[len(f.stamps)-1] - f.stamps[0] }

// rowStepS is the time from row to row; of notes typed by hand, which have no such time,
// what their stamps are written to.
func (f *logFile) rowStepS() float64 {
	if f.special {
		return 2 * f.stampStep()
	}
	return f.stepS
}

// offsetStepS is one unit of the last digit of clock_offset_s: as written, or where that
// is not known of the shortest way to write it.
func offsetStepS(s *flight.FileSettings) float64 {
	if s.ClockOffsetStepS > 0 {
		return s.ClockOffsetStepS
	}
	_, digits, _ := strings.Cut(strconv.FormatFloat(*s.ClockOffsetS, 'f', -1, 64), ".")
	return math.Pow(10, -float64(len(digits)))
}
