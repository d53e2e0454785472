package report

import (
	"fmt"
	"strings"
	"testing"

	"hopcard/analysis/debrief"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

// flagged is a debrief of flags, each with its reason in the verdict.
func flagged(flags ...stability.Unstable) *debrief.Debrief {
	d := emptyDebrief()
	for i := range flags {
		flags[i].Reason = fmt.Sprintf("reason of %s %s %g", flags[i].Axis, flags[i].Kind, flags[i].Span.FromS)
		weight := debrief.No
		if flags[i].Kind == stability.ControlStop || flags[i].Kind == stability.Unattributed {
			weight = debrief.Caution
		}
		d.Verdict.Reasons = append(d.Verdict.Reasons, debrief.Reason{Text: flags[i].Reason, Span: flags[i].Span, Weight: weight})
	}
	d.Stability.Unstable = flags
	d.Verdict.Proceed = debrief.No
	return d
}

func flagAt(axis flight.Axis, kind stability.Kind, from, to float64) stability.Unstable {
	return stability.Unstable{Axis: axis, Kind: kind, Span: flight.Span{FromS: from, ToS: to}}
}

// sectionText is the part of a card under a heading, in one line.
func sectionText(t *testing.T, d *debrief.Debrief, heading string) string {
	t.Helper()
	_, rest, ok := strings.Cut(card(t, d), "## "+heading)
	if !ok {
		t.Fatalf("no %q on the card", heading)
	}
	text, _, _ := strings.Cut(rest, "\n## ")
	return strings.Join(strings.Fields(text), " ")
}

// An oscillation that ran through the limit to the stop is one reason, and the grave one
// of them stands for it.
func TestFlagsOfOneEventAreOneReason(t *testing.T) {
	d := flagged(
		flagAt(flight.PitchAxis, stability.ControlStop, 48, 49),
		flagAt(flight.PitchAxis, stability.PilotCoupled, 40, 47),
		flagAt(flight.PitchAxis, stability.Limit, 46, 48),
		flagAt(flight.PitchAxis, stability.Limit, 49, 50),
		flagAt(flight.RollAxis, stability.Unattributed, 46, 48),
		flagAt(flight.PitchAxis, stability.ControlStop, 80, 81),
	)
	verdict := sectionText(t, d, "Verdict")
	for _, want := range []string{
		"stop: reason of pitch pilot-coupled 40 (40.0 s to 47.0 s); with it: stick near its stop, beyond the limit",
		"caution: reason of roll unattributed 46 (46.0 s to 48.0 s) -",
		"caution: reason of pitch control-stop 80 (80.0 s to 81.0 s) hopcard",
	} {
		if !strings.Contains(verdict, want) {
			t.Errorf("no %q in %s", want, verdict)
		}
	}
	if n := strings.Count(verdict, "reason of"); n != 3 {
		t.Errorf("%d reasons, want 3: %s", n, verdict)
	}
	flags := sectionText(t, d, "Flagged seconds")
	for _, u := range d.Stability.Unstable {
		// Each flag is in the list; its reason in full on the card exactly once.
		if !strings.Contains(flags, fmt.Sprintf("%s, %s, %s", spanText(u.Span), u.Axis, u.Kind)) {
			t.Errorf("%v is not in the list: %s", u, flags)
		}
		if n := strings.Count(verdict+flags, u.Reason); n != 1 {
			t.Errorf("%q is on the card %d times", u.Reason, n)
		}
	}
	if !strings.Contains(flags, "unattributed (growing, cause unknown)") {
		t.Errorf("the cause is not said to be unknown: %s", flags)
	}
}

// However many flags there are, the other reasons are all on the card, worst first.
func TestManyFlagsLeaveRoomForOtherReasons(t *testing.T) {
	var flags []stability.Unstable
	for i := range 20 {
		flags = append(flags, flagAt(flight.RollAxis, stability.Limit, float64(100*i), float64(100*i+1)))
	}
	d := flagged(flags...)
	for i := range 9 {
		d.Verdict.Reasons = append(d.Verdict.Reasons, debrief.Reason{Text: fmt.Sprintf("other %d.", i), Weight: debrief.Caution})
	}
	d.Verdict.Reasons = append(d.Verdict.Reasons, debrief.Reason{Text: "gravest of all", Weight: debrief.No})
	verdict := sectionText(t, d, "Verdict")
	if n := strings.Count(verdict, "reason of"); n != maxFlagReasons {
		t.Errorf("%d flags among the reasons, want %d", n, maxFlagReasons)
	}
	if !strings.Contains(verdict, fmt.Sprintf("and %d more; see flagged seconds", 20-maxFlagReasons)) {
		t.Errorf("how many are left out is not said: %s", verdict)
	}
	if n := strings.Count(verdict, "other "); n != 9 {
		t.Errorf("%d other reasons, want all 9", n)
	}
	if strings.Index(verdict, "gravest") > strings.Index(verdict, "other") {
		t.Error("a stop comes after a caution")
	}
}

// A model that attitude and rate share is given once.
func TestSharedModelIsGivenOnce(t *testing.T) {
	d := syntheticDebrief()
	model := d.Responses[0].Model
	d.Responses[1].Model = model
	text := sectionText(t, d, "Stick to answer")
	if strings.Count(text, model.Form) != 1 || !strings.Contains(text, "model of stick to roll rate and attitude: first-order") {
		t.Errorf("the model is not given once: %s", text)
	}
	other := *model
	other.FitPercent = 50
	d.Responses[1].Model = &other
	if text := sectionText(t, d, "Stick to answer"); strings.Count(text, model.Form) != 2 {
		t.Errorf("of two models one is missing: %s", text)
	}
}
