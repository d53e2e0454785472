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
		"loggers on, free space, fresh batteries, and writing; stick to both stops once in each axis before the rotor turns",
		fmt.Sprintf("knocks, unless all is in one log or every log has UTC: rotor standing, hands off for 2 s, then %d sharp taps with a mallet on the frame where every logger feels them, spaced unevenly: tap, 1 s, tap, 2 s, tap", c.Written.KnocksBefore),
		fmt.Sprintf("after the hop, rotor standing, %d taps the other way round: tap, 2 s, tap, 1 s, tap; only then switch off", c.Written.KnocksAfter),
		"wind: mast or meter at about hub height, upwind and clear of the downwash; without a logger write time, mean and highest of each minute into a file in the hop's folder",
		"one of the crew writes down with the time of day what is seen: light on the skids, each input, anything odd",
	} {
		p.bullet("[ ] " + line)
	}
}

// planCrew are the ground crew's and the inspector's lists, in general terms: the aircraft's
// own lists and the rules of the place come before them.
func planCrew(p *page) {
	p.heading(2, "Ground crew")
	for _, line := range []string{
		"caller with radio and this card, eyes on the aircraft only; radio checked; words agreed: KNOCK IT OFF",
		"fire extinguisher and first aid manned; way for an ambulance open; telephone works",
		"field clear of people and loose things; safe distance marked, nobody beside or in the plane of either disc",
		"wind read aloud every minute, and at each gust",
		"fuel or battery for the hop and as much again; mass and balance as the configuration says",
	} {
		p.bullet("[ ] " + line)
	}
	p.heading(2, "Before each hop: teetering head")
	for _, line := range []string{
		"teeter hinge: free over its whole travel, no play, bolt and cotter as drawn; teeter stops and bumpers whole, no fresh marks",
		"hub, blade grips, bolts and bonding: no crack, no rust dust, no bonding line open; tip weights and track as last noted",
		"pitch links, swashplate, scissors, rod ends: free, no play, locked and marked; swashplate phasing as the configuration says",
		"stabiliser bar: weights as the configuration says, weighed, bolted, locked; paddles at their mark; mixing arms free, no play",
		"mast: no mark of the hub at any height; mast nut locked; drive and clutch free of play",
		"controls: full and free, right sense, no binding with collective up and down; tail rotor likewise",
		"whatever was changed since the last hop: named aloud, and looked at by a second pair of eyes",
	} {
		p.bullet("[ ] " + line)
	}
	p.bullet("A licensed inspection and the local rules decide; this list only reminds.")
}
