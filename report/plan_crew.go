package report

import (
	"fmt"

	"hopcard/analysis/plan"
)

// planLogging is what the loggers need: importers/knocks.go wants taps out of quiet, sharp,
// spaced unevenly, felt by every logger; a train before and one after give offset and drift.
func planLogging(p *page, c *plan.Plan) {
	p.heading(2, "Logs and clocks")
	for _, line := range []string{
		"loggers on, batteries fresh, all writing; before the rotor turns each stick once to both stops",
		fmt.Sprintf("knocks, unless all is one log or in UTC: rotor standing, hands off for 2 s, %d sharp taps on the frame where every logger feels them: tap, 1 s, tap, 2 s, tap", c.Written.KnocksBefore),
		fmt.Sprintf("after the hop, rotor standing, %d more the other way round: tap, 2 s, tap, 1 s, tap; only then switch off", c.Written.KnocksAfter),
		"wind meter at about hub height, upwind, out of the downwash; without a logger note time, mean and highest of each minute",
		"the crew notes with the time of day: light on the skids, each input, anything odd",
	} {
		p.bullet("[ ] " + line)
	}
}

// planCrew are the ground crew's and the inspector's lists, in general terms: the aircraft's
// own lists and the rules of the place come before them.
func planCrew(p *page) {
	p.heading(2, "Ground crew")
	for _, line := range []string{
		"caller with radio and this card, eyes on the aircraft; words agreed: KNOCK IT OFF",
		"extinguisher and first aid manned; telephone works; way for an ambulance open",
		"field clear of people and loose things; safe distance marked, nobody in the plane of a disc",
		"wind read aloud every minute and at each gust",
		"fuel or battery for twice the hop; mass and balance as the configuration says",
	} {
		p.bullet("[ ] " + line)
	}
	p.heading(2, "Before each hop: teetering head")
	for _, line := range []string{
		"teeter hinge: free over its travel, no play, bolt secured; stops and bumpers whole, no fresh marks",
		"hub, grips, bolts, bonding: no crack, no rust dust, no open line; tip weights and track as last noted",
		"links, swashplate, scissors, rod ends: free, no play, locked; phasing as the configuration says",
		"stabiliser bar: weights weighed and as the configuration says, locked; paddles at their mark; mixing arms free",
		"mast: no mark of the hub at any height; mast nut locked; drive free of play",
		"controls: full, free, right sense, collective up and down; tail rotor likewise",
		"what was changed since the last hop: named aloud, seen by a second pair of eyes",
	} {
		p.bullet("[ ] " + line)
	}
	p.bullet("A licensed inspection and the local rules decide; this list only reminds.")
}
