package report

import (
	"fmt"
	"strings"

	"hopcard/analysis/debrief"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

// maxFlagReasons is how many flags a verdict gives as reasons; the list of flagged
// seconds has all of them. Reasons of other kinds are never left out.
const maxFlagReasons = 6

// cardVerdict gives the verdict and its reasons, worst first. Flags that belong to one
// event, such as an oscillation that went through the limit to the stop, are one reason.
func cardVerdict(p *page, d *debrief.Debrief) {
	p.heading(2, "Verdict: "+strings.ToUpper(verdictWord(d.Verdict.Proceed)))
	told, more := reasonsTold(d)
	for _, r := range told {
		text := verdictWord(r.Weight) + ": " + markdown(r.Text, textLength)
		if r.Span != (flight.Span{}) {
			text += " (" + spanText(r.Span) + ")"
		}
		p.bullet(text + r.with)
	}
	if more > 0 {
		p.bullet(fmt.Sprintf("and %d more; see flagged seconds", more))
	}
	if len(told) > 0 {
		p.blank()
	}
	for _, a := range d.Verdict.Advice {
		p.paragraph(markdown(a, textLength))
		p.blank()
	}
	p.paragraph("hopcard advises. The pilot, the local rules and a licensed inspection decide.")
}

// toldReason is a reason as the card gives it.
type toldReason struct {
	debrief.Reason
	with string // what else happened in the same event
}

// reasonsTold lists what the card gives as reasons, worst first, and how many events it
// leaves to the list of flags.
func reasonsTold(d *debrief.Debrief) (told []toldReason, more int) {
	flags := d.Stability.Unstable
	events := flagEvents(flags)
	seen := map[int]bool{}
	for _, r := range gravestFirst(d.Verdict.Reasons) {
		flag := flagOf(flags, r)
		if flag < 0 {
			told = append(told, toldReason{r, ""})
			continue
		}
		if seen[events[flag]] {
			continue
		}
		if seen[events[flag]] = true; len(seen) > maxFlagReasons {
			more++
			continue
		}
		told = append(told, toldReason{r, alongWith(flags, events, flag)})
	}
	return told, more
}

// flagOf is the flag that a reason repeats, -1 if there is none.
func flagOf(flags []stability.Unstable, r debrief.Reason) int {
	for i, u := range flags {
		if u.Reason == r.Text && u.Span == r.Span {
			return i
		}
	}
	return -1
}

// alongWith names the other kinds of flag in the event of a flag.
func alongWith(flags []stability.Unstable, events []int, flag int) string {
	var others []string
	named := map[stability.Kind]bool{flags[flag].Kind: true}
	for i, u := range flags {
		if events[i] == events[flag] && !named[u.Kind] {
			named[u.Kind] = true
			others = append(others, kindWords(u.Kind))
		}
	}
	if len(others) == 0 {
		return ""
	}
	return "; with it: " + strings.Join(others, ", ")
}

// kindWords says what a kind of flag means.
func kindWords(k stability.Kind) string {
	switch k {
	case stability.Airframe:
		return "growing with the stick still"
	case stability.PilotCoupled:
		return "growing with the pilot in it"
	case stability.Unattributed:
		return "growing, cause unknown"
	case stability.Limit:
		return "beyond the limit"
	case stability.ControlStop:
		return "stick near its stop"
	}
	return string(k)
}

// gravestFirst orders reasons by what they weigh; equals keep their order.
func gravestFirst(reasons []debrief.Reason) []debrief.Reason {
	var out []debrief.Reason
	for _, weight := range []debrief.Proceed{debrief.No, debrief.Caution, debrief.Yes, ""} {
		for _, r := range reasons {
			if r.Weight == weight {
				out = append(out, r)
			}
		}
	}
	return out
}

// cardFlags lists every flag; what the verdict has said in full is not said twice.
func cardFlags(p *page, d *debrief.Debrief) {
	p.heading(2, flagsHeading)
	if len(d.Stability.Unstable) == 0 {
		p.paragraph("None found. That is no proof of stability: only what was flown could be seen.")
	}
	said := map[string]bool{}
	told, _ := reasonsTold(d)
	for _, r := range told {
		said[r.Text] = true
	}
	for _, u := range d.Stability.Unstable {
		text := fmt.Sprintf("%s, %s, %s", spanText(u.Span), u.Axis, u.Kind)
		if u.Kind == stability.Unattributed {
			text += " (" + kindWords(u.Kind) + ")"
		}
		if !said[u.Reason] {
			text += ": " + markdown(u.Reason, textLength)
		}
		if u.GrowthPerS != nil {
			text += "; growth " + withInterval(u.GrowthPerS, 1, "per s")
		}
		if u.FrequencyRadS != nil {
			text += "; frequency " + withInterval(u.FrequencyRadS, 1, "rad/s")
		}
		p.bullet(text)
	}
}
