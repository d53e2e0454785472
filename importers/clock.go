package importers

import (
	"fmt"
	"math"
	"strings"
	"time"

	"hopcard/flight"
)

// alignClocks gives every log the relation of its stamps to hop time, which starts at
// the first row of the log that leads. started is when the crew say that was, zero if
// they do not.
func alignClocks(files []*logFile, lead int, started time.Time) {
	l := files[lead]
	l.clock = flight.Clock{OffsetS: l.stamps[0], AlignedBy: flight.AlignSingle, ResidualS: nan}
	if l.time.dayless && len(files) > 1 {
		l.time.absolute = true // on a day that no log names
	}
	if l.time.absolute {
		l.rebase(l.stamps[0])
		l.clock.OffsetS = 0
		if len(files) > 1 {
			l.clock.AlignedBy = flight.AlignUTC
		}
	}
	for i, f := range files {
		if i == lead {
			continue
		}
		if !f.alignStart(l, started) {
			f.align(l)
		}
	}
	if len(files) > 1 && l.clock.AlignedBy == flight.AlignSingle {
		l.clock.AlignedBy = leadAlignment(files, lead)
	}
	for _, f := range files {
		f.userClock(l)
	}
}

// leadAlignment: the leading log's own clock is the hop clock; it counts as aligned by
// whatever ties the others to it. Marks typed by hand tie nothing.
func leadAlignment(files []*logFile, lead int) flight.Alignment {
	for i, f := range files {
		if i != lead && f.role != flight.RoleNone && f.clock.AlignedBy != flight.AlignNone {
			return f.clock.AlignedBy
		}
	}
	return flight.AlignSingle
}

// rebase makes absolute stamps count from the given stamp on; startS keeps the instant.
func (f *logFile) rebase(zeroS float64) {
	f.time.startS = float64(f.time.baseDay)*86400 + zeroS
	for i := range f.stamps {
		f.stamps[i] -= zeroS
	}
	for k := range f.findings {
		if s := &f.findings[k].Span; *s != (flight.Span{}) {
			s.FromS -= zeroS
			s.ToS -= zeroS
		}
	}
	for k := range f.marks {
		f.marks[k].TimeS -= zeroS
	}
}

// align ties f to the leading log.
func (f *logFile) align(l *logFile) {
	if f.time.hopSeconds {
		f.clock = flight.Clock{AlignedBy: flight.AlignUser, ResidualS: nan, IntervalS: 1}
		f.add(flight.CodeUnitGuessed, flight.Note, "", flight.Span{}, "times typed by hand are taken for seconds of the hop, good to a second", "")
		return
	}
	if f.time.restarted || l.time.restarted {
		f.withhold(l, "one of them began anew within the hop, and how long it was off is not known")
		return
	}
	if f.time.dayless && l.time.absolute {
		f.time.absolute, f.time.baseDay = true, l.time.baseDay
	}
	if f.time.absolute && l.time.absolute {
		f.alignUTC(l)
		return
	}
	if f.alignKnocks(l) || f.alignShared(l) {
		return
	}
	f.withhold(l, "the logs share no clock, no knocks are felt by both for certain, and no channel that both record shows where they fit together")
}

// alignStart ties notes of wind and events, typed with the time of day, to a hop whose
// own log has no time of day, by the start that the crew give in hop.toml. That is good
// to a second at best: too rough to time a stick by.
func (f *logFile) alignStart(l *logFile, started time.Time) bool {
	wallClock := f.time.dayless || f.time.absolute
	if started.IsZero() || !wallClock || l.time.absolute || l.time.dayless || f.role != flight.RoleWind && f.role != flight.RoleNone {
		return false
	}
	startS := float64(started.UnixMilli()) / 1000
	day := math.Floor(startS / 86400)
	if f.time.dayless {
		f.time.baseDay = int64(day)
	}
	f.rebase(startS - float64(f.time.baseDay)*86400)
	own := []float64{0, l.stamps[len(l.stamps)-1] - l.stamps[0]}
	slack := 60 + f.stampStep()
	if f.stamps[0] > own[1]+slack || f.stamps[len(f.stamps)-1] < own[0]-slack {
		f.withhold(l, "its times of day lie outside the hop that started_at in hop.toml begins")
		return true
	}
	f.clock = flight.Clock{AlignedBy: flight.AlignUser, ResidualS: nan, IntervalS: 1 + f.stampStep()}
	f.add(flight.CodeUnitGuessed, flight.Note, f.time.label, flight.Span{},
		fmt.Sprintf("its times of day are tied to the hop by started_at in hop.toml, good to %.0f s", f.clock.IntervalS), "")
	return true
}

// alignUTC uses the time of day that both logs wrote.
func (f *logFile) alignUTC(l *logFile) {
	shift := 0.0
	f.rebase(l.time.startS - float64(f.time.baseDay)*86400)
	if !overlap(f.stamps, l.stamps) && f.time.zoned != l.time.zoned {
		// One of the two writes local time: zones differ by quarters of an hour.
		shift = math.Round((f.stamps[0]-l.stamps[0])/900) * 900
		moved := []float64{f.stamps[0] - shift, f.stamps[len(f.stamps)-1] - shift}
		if shift == 0 || !overlap(moved, l.stamps) {
			f.withhold(l, "their dates and times do not overlap")
			return
		}
		f.add(flight.CodeUnitGuessed, flight.Caution, f.time.label, flight.Span{},
			fmt.Sprintf("the stamps lie %.2f h from those of %s, which fits a time zone: taken for local time", shift/3600, l.name),
			"set both loggers to UTC, or give clock_offset_s in hop.toml")
	} else if !overlap(f.stamps, l.stamps) {
		f.withhold(l, "their dates and times do not overlap")
		return
	}
	f.clock = flight.Clock{OffsetS: shift, AlignedBy: flight.AlignUTC, ResidualS: nan,
		IntervalS: f.stampStep() + l.stampStep()}
	f.checkUTC(l)
}

// checkUTC compares clocks tied by UTC with the knocks that both logs feel, where there
// are any: loggers that set their clock late or by different receivers are off by up to a
// second, and nothing in the stamps shows it. The intervals then allow for it.
func (f *logFile) checkUTC(l *logFile) {
	utc := f.clock
	if !f.alignKnocks(l) {
		return
	}
	knocks := f.clock
	f.clock = utc
	endS := l.stamps[len(l.stamps)-1] - l.stamps[0]
	off := knocks.OffsetS - utc.OffsetS
	if late := off + 1e-6*(knocks.DriftPPM-utc.DriftPPM)*endS; math.Abs(late) > math.Abs(off) {
		off = late
	}
	allowed := math.Max(utc.IntervalS, 0.005) + knocks.IntervalS
	if math.Abs(off) <= allowed {
		return
	}
	f.clock.IntervalS += math.Abs(off)
	f.add(flight.CodeNoClock, flight.Caution, f.time.label, flight.Span{},
		fmt.Sprintf("UTC and the knocks that both logs feel disagree by %.3g s about the clock of %s: one of the loggers had set its clock wrongly",
			math.Abs(off), f.name),
		fmt.Sprintf("delays and lags timed between the logs are that uncertain; by the knocks write clock_offset_s = %.4f, clock_drift_ppm = %.3g and clock_interval_s = %.2g in hop.toml",
			knocks.OffsetS, knocks.DriftPPM, math.Max(knocks.IntervalS, leastUserIntervalS)))
}

// stampStep returns half the step in which stamps are written: what rounding can move
// an event by.
func (f *logFile) stampStep() float64 {
	switch {
	case f.time.minutes:
		return 30
	case f.special || f.time.stamp == nil:
		return 0.5
	}
	digits := 0
	for _, row := range f.dress.sample {
		digits = max(digits, fractionDigits(row[f.time.stamp.index]))
	}
	k, _, ok := f.time.unit.Scale()
	if !ok {
		k = 1
	}
	return k * math.Pow(10, -float64(digits)) / 2
}

// fractionDigits counts the digits after the last point or comma of a stamp.
func fractionDigits(cell string) int {
	n := 0
	for i := strings.LastIndexAny(cell, ".,") + 1; i > 0 && i < len(cell) && cell[i]-'0' <= 9; i++ {
		n++
	}
	return n
}

func overlap(a, b []float64) bool {
	return a[0] <= b[len(b)-1] && b[0] <= a[len(a)-1]
}

// withhold says that f cannot be timed against the leading log. Its channels are placed
// so that both logs start together, which is good for looking at them only.
func (f *logFile) withhold(l *logFile, why string) {
	f.clock = flight.Clock{OffsetS: f.stamps[0], AlignedBy: flight.AlignNone, ResidualS: nan}
	sev := flight.Stop
	if f.role == flight.RoleWind || f.role == flight.RoleNone {
		sev = flight.Caution // wind statistics need no common clock
	}
	f.add(flight.CodeNoClock, sev, "", flight.Span{},
		fmt.Sprintf("the clock of %s cannot be tied to %s: %s; it is shown as if both had started together, and nothing is timed between them",
			f.name, l.name, why),
		"log UTC on both, tap the airframe sharply three times before and after the flight, or give clock_offset_s in hop.toml")
}
