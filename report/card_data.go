package report

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"hopcard/analysis/debrief"
	"hopcard/flight"
)

// maxNotes is how many mere notes a card lists; cautions and stops are never left out.
const maxNotes = 8

// tightNotes is how many of them it lists where room is short.
const tightNotes = 3

// cardData lists the logs the card rests on and what is wrong with them.
func cardData(p *page, d *debrief.Debrief) {
	p.heading(2, "Data")
	for i := range d.Hop.Sources {
		p.bullet(sourceText(d.Hop, i))
	}
	notes, about := 0, 0
	for _, f := range d.Findings {
		if aboutDelays(f) || aboutGusts(d, f) {
			continue
		}
		about++
		if f.Severity == flight.Note {
			if notes++; notes > maxNotes {
				continue
			}
		}
		p.bullet(fmt.Sprintf("%s: %s", f.Severity, findingText(f)))
		if f.Severity == flight.Note && notes > tightNotes {
			p.blocks[len(p.blocks)-1].when = roomyOnly
		}
	}
	if notes > maxNotes {
		p.bullet(moreNotes(notes - maxNotes))
		p.blocks[len(p.blocks)-1].when = roomyOnly
	}
	if notes > tightNotes {
		p.blocks = append(p.blocks, block{kind: bulletBlock, text: moreNotes(notes - tightNotes), when: tightOnly})
	}
	if about == 0 {
		p.bullet("nothing else found wrong with the data")
	}
}

func moreNotes(n int) string { return fmt.Sprintf("and %d more notes; `hopcard check` lists them", n) }

func sourceText(h *flight.Hop, i int) string {
	s := &h.Sources[i]
	text := fmt.Sprintf("%s: %s, %d rows at %s Hz, clock by %s", markdown(s.File, nameLength),
		roleText(h, i), s.Rows, significant(s.RateHz, 3), alignedBy(s))
	if s.Clock.AlignedBy == flight.AlignNone {
		text += ": nothing is timed against it"
	} else if s.Clock.IntervalS > 0 && finite(s.Clock.IntervalS) {
		text += fmt.Sprintf(", within %s ms", significant(s.Clock.IntervalS*1e3, 2))
	}
	return text
}

func alignedBy(s *flight.Source) string {
	switch s.Clock.AlignedBy {
	case flight.AlignUTC:
		return "UTC"
	case "", flight.AlignNone:
		return "nothing"
	}
	return string(s.Clock.AlignedBy)
}

// findingText words a finding: where, when, what, and what to do.
func findingText(f flight.Finding) string {
	where := markdown(f.File, nameLength)
	if c := markdown(f.Channel, nameLength); c != "" {
		if where != "" {
			where += ", "
		}
		where += c
	}
	if f.Span != (flight.Span{}) {
		if where != "" {
			where += ", "
		}
		where += spanText(f.Span)
	}
	text := markdown(f.Text, textLength)
	if where != "" {
		text = where + ": " + text
	}
	return Sentences(text, markdown(f.Advice, textLength))
}

// Sentences puts two texts one after the other, whichever way they begin and end.
func Sentences(first, second string) string {
	if second == "" {
		return first
	}
	first = strings.TrimRight(first, ".;")
	if r, _ := utf8.DecodeRuneInString(second); unicode.IsUpper(r) {
		return first + ". " + second
	}
	return first + "; " + second
}

// cardCautions are the cautions of the trade. Sources: FAA-H-8083-21, chapter 11 (low g,
// mast bumping, dynamic rollover; angles as quoted there); AC 90-95 (1995), unanticipated
// yaw (wind azimuths, for a rotor that turns counter-clockwise seen from above).
func cardCautions(p *page, d *debrief.Debrief) {
	p.heading(2, "Cautions")
	for _, line := range []string{
		"Teetering rotor: control comes from the tilt of the thrust alone. Never push over. If the seat feels light, gently aft first, and no lateral stick until the weight is back.",
		"Mast bumping: low g, large side slip and abrupt stick can drive the hub against the mast and break it. Inspect stops and mast after any doubt.",
		"Dynamic rollover: with one skid held, a roll of 5 to 8 deg may be past saving, less in a cross wind. Collective down, smoothly, is the way out.",
		tailRotorCaution(d.Aircraft.RotorTurns),
		"Ground crew: clear of both rotor discs and of the flight path, radio open, extinguisher at hand, and one person who may call the hop off.",
		"One change at a time. Local rules and a licensed inspection decide whether this aircraft flies; hopcard only advises, from what was logged.",
	} {
		p.bullet(line)
	}
}

func tailRotorCaution(rotorTurns string) string {
	azimuths := "285 to 315 deg (main rotor wake), 120 to 240 deg (weathercock), 210 to 330 deg (tail-rotor vortex ring)"
	tail := ""
	switch rotorTurns {
	case "clockwise":
		azimuths = "45 to 75 deg (main rotor wake), 120 to 240 deg (weathercock), 30 to 150 deg (tail-rotor vortex ring)"
	case "counter-clockwise":
	default:
		tail = "; mirrored if the rotor turns clockwise seen from above"
	}
	return "Loss of tail-rotor effectiveness: low and slow, beware of wind from " + azimuths + ", measured from the nose" + tail + "."
}

// Lengths that the crew's remarks are cut to: lines, and characters of each.
const (
	remarkLines  = 12
	remarkLength = 600
)

// remarks are the hop's notes, a paragraph for each line of them.
func remarks(notes string) []string {
	var out []string
	for _, l := range strings.FieldsFunc(notes, func(r rune) bool { return r == '\n' || r == '\r' }) {
		if l = markdown(l, remarkLength); l == "" {
			continue
		}
		if len(out) == remarkLines {
			return append(out, "and more; the hop's notes have all of it.")
		}
		out = append(out, l)
	}
	return out
}

// cardSignatures gives the crew's remarks, and room for more and for their names.
func cardSignatures(p *page, said ...string) {
	p.heading(2, "Remarks")
	for _, l := range said {
		p.paragraph(l)
		p.blank()
	}
	for range 4 {
		p.line("%s", ruled(pageWidth))
		p.blank()
	}
	p.line("Pilot %s  Date %s", ruled(44), ruled(22))
	p.blank()
	p.line("Inspector %s  Date %s", ruled(40), ruled(22))
}

// ruled is a line to write on. The marks are escaped: a bare row of them would be drawn
// as a rule or vanish as emphasis in rendered Markdown.
func ruled(width int) string {
	b := make([]byte, width)
	for i := range b {
		b[i] = '.'
	}
	return string(b)
}
