package tui

import (
	"fmt"
	"sort"
	"strings"

	"hopcard/analysis/stability"
	"hopcard/flight"
)

// isInput reports whether a segment is a test input rather than a phase of the hop.
func isInput(k flight.SegmentKind) bool {
	switch k {
	case flight.Doublet, flight.Steps, flight.Sweep, flight.Rap, flight.HandsStill, flight.Knocks, flight.ControlCheck:
		return true
	}
	return false
}

// flagTimes lists where the unstable segments start.
func (v *hopView) flagTimes() []float64 {
	var at []float64
	for _, u := range v.desk.current.d.Stability.Unstable {
		at = append(at, u.Span.FromS)
	}
	sort.Float64s(at)
	return at
}

// inputTimes lists where test inputs, lift-off and landing start.
func (v *hopView) inputTimes() []float64 {
	var at []float64
	for _, s := range v.desk.current.d.Segments {
		if isInput(s.Kind) || s.Kind == flight.LiftOff || s.Kind == flight.Landing {
			at = append(at, s.Span.FromS)
		}
	}
	sort.Float64s(at)
	return at
}

// eventTimes lists the event marks.
func (v *hopView) eventTimes() []float64 {
	var at []float64
	for _, m := range v.desk.current.d.Hop.Marks {
		at = append(at, m.TimeS)
	}
	sort.Float64s(at)
	return at
}

// marks lists every time worth a look: flags, test inputs, lift-off and landing, event
// marks and findings that are more than a note.
func (v *hopView) marks() []float64 {
	at := append(append(v.flagTimes(), v.inputTimes()...), v.eventTimes()...)
	for _, f := range v.desk.current.d.Findings {
		if f.Severity != flight.Note && f.Span != (flight.Span{}) {
			at = append(at, f.Span.FromS)
		}
	}
	sort.Float64s(at)
	return at
}

// jump goes to the next time in sorted order after the cursor, or the one before.
func (v *hopView) jump(at []float64, direction int) {
	const same = 1e-6 // s; a jump must not stay where it is
	if direction > 0 {
		i := sort.Search(len(at), func(i int) bool { return at[i] > v.cursor+same })
		if i < len(at) {
			v.look(at[i])
		}
		return
	}
	i := sort.Search(len(at), func(i int) bool { return at[i] >= v.cursor-same })
	if i > 0 {
		v.look(at[i-1])
	}
}

// spanAtCursor is the flag, or else the shortest segment, that the cursor is in.
func (v *hopView) spanAtCursor() (flight.Span, bool) {
	if us := v.flagsAt(v.cursor); len(us) > 0 {
		return us[0].Span, true
	}
	var best flight.Span
	for _, s := range v.segmentsAt(v.cursor) {
		if best == (flight.Span{}) || s.Span.LengthS() < best.LengthS() {
			best = s.Span
		}
	}
	return best, best != (flight.Span{})
}

func (v *hopView) flagsAt(tS float64) []stability.Unstable {
	var us []stability.Unstable
	for _, u := range v.desk.current.d.Stability.Unstable {
		if v.near(u.Span, tS) {
			us = append(us, u)
		}
	}
	return us
}

func (v *hopView) segmentsAt(tS float64) []flight.Segment {
	var ss []flight.Segment
	for _, s := range v.desk.current.d.Segments {
		if v.near(s.Span, tS) {
			ss = append(ss, s)
		}
	}
	return ss
}

// near reports whether tS lies in s as far as the screen can tell: half a cell either
// way, so that what is drawn under the cursor is what is said about it.
func (v *hopView) near(s flight.Span, tS float64) bool {
	half := v.perCell() / 2
	return tS >= s.FromS-half && tS < s.ToS+half
}

// segmentText is a segment in words.
func segmentText(s flight.Segment) string {
	if s.Axis != "" {
		return string(s.Kind) + " " + string(s.Axis)
	}
	return string(s.Kind)
}

// flagWords is a flag in one sentence. Reasons name kind and axis themselves as a rule;
// what they leave out goes before them.
func flagWords(u stability.Unstable) string {
	s := clean(u.Reason)
	if !strings.Contains(s, string(u.Axis)) {
		s = string(u.Axis) + ": " + s
	}
	if !strings.Contains(s, string(u.Kind)) {
		s = string(u.Kind) + " " + s
	}
	return string(flagLetter(u.Kind)) + " " + s
}

// atCursor says in words what the cursor is in.
func (v *hopView) atCursor() (text string, pn pen) {
	var parts []string
	pn = ink
	for _, u := range v.flagsAt(v.cursor) {
		parts = append(parts, flagWords(u))
		pn = danger
	}
	for _, m := range v.desk.current.d.Hop.Marks {
		if v.near(flight.Span{FromS: m.TimeS, ToS: m.TimeS}, v.cursor) {
			parts = append(parts, "mark: "+clean(m.Text))
		}
	}
	for _, s := range v.desk.current.d.Hop.Exclude {
		if v.near(s, v.cursor) {
			parts = append(parts, leftOutText(v.desk.current, s))
		}
	}
	for _, a := range v.lay.axes {
		if s := v.dampingReading(a); s != "" {
			parts = append(parts, s)
		}
	}
	for _, s := range v.segmentsAt(v.cursor) {
		parts = append(parts, fmt.Sprintf("%s %s", segmentText(s), spanText(s.Span)))
	}
	return strings.Join(parts, "; "), pn
}

// leftOutText says that an interval is left out of the analysis, and why.
func leftOutText(o *opened, s flight.Span) string {
	text := "left out of the analysis: " + spanText(s)
	if why := o.whyExcluded(s); why != "" {
		text += ", " + why
	}
	return text
}

// phaseBetween is the time between the cursors as phase: of the oscillation that the cursor
// is in, or else of the swings whose damping is shown there; empty if it is in neither.
func (v *hopView) phaseBetween() string {
	phase := func(w float64) string {
		return fmt.Sprintf(", %.0f deg at %s rad/s", (v.cursor-v.ref)*w*degPerRad, number(w))
	}
	for _, u := range v.flagsAt(v.cursor) {
		if u.FrequencyRadS != nil {
			return phase(u.FrequencyRadS.Value)
		}
	}
	for _, a := range v.lay.axes {
		if dp := v.dampingAt(a); dp != nil && dp.FrequencyRadS > 0 {
			return phase(dp.FrequencyRadS)
		}
	}
	return ""
}
