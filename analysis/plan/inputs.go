package plan

import (
	"fmt"
	"math"
	"slices"

	"hopcard/flight"
)

const deg = math.Pi / 180

// The sweep. A record of four and a half times its longest period is practice (Tischler and
// others 1987, NASA TM 89422: four to five; from memory): 45 s from one period in ten
// seconds. It ends at 2 Hz: faster the hand is not steady, and the head is shaken for nothing.
const (
	sweepLengthS  = 45.0
	sweepFromRadS = 2 * math.Pi * 4.5 / sweepLengthS
	sweepToRadS   = 12.0
	sweepGrowth   = 2.0 // size at the end over that at the start: the aircraft answers less up there
)

// The doublet and the rest.
const (
	usualHoldS   = 0.8
	stillLengthS = 5.0
	hoverLengthS = 45.0
	pauseS       = 8.0  // after each input, to settle
	settleS      = 20.0 // lift-off, settling, landing
	longHopS     = 600.0
)

// Sizes, as fractions of the travel from the middle to a stop; own choices. The least can just
// be told from the pilot's own work; the blind ones are for an aircraft that nothing is
// known of.
const (
	leastDoublet = 0.03
	mostDoublet  = 0.25
	leastSweep   = 0.02
	mostSweep    = 0.12
	blindDoublet = 0.03
	blindSweep   = 0.025
)

// mostGrowth is how much larger than ever flown with the configuration an input may be: half
// as much again. Own choice; size is built up in steps like everything else.
const mostGrowth = 1.5

// targetRad is the attitude an input may reach: 6 deg, and no more than half the limit; own
// choice. Enough for an attitude sensor, little enough for the pilot.
const targetRad = 6 * deg

// Repeats in one hop. The first ones of a configuration are kept short.
const (
	mostSweeps      = 4
	mostSweepsFirst = 2
	mostDoublets    = 12
)

// inputs chooses sizes and repeats for both axes.
func (p *Plan) inputs(r Request) error {
	target := min(targetRad, p.limit().AttitudeDeg*deg/2)
	if target < 1*deg {
		return &RefusedError{fmt.Sprintf("limits: attitude_deg = %g leaves no room for a test input: with less than 2 deg no stick can be moved on purpose",
			p.limit().AttitudeDeg)}
	}
	if p.careful() {
		target /= 2
	}
	var doublets, sweeps []flight.PlannedInput
	for _, axis := range []flight.Axis{flight.PitchAxis, flight.RollAxis} {
		c := p.known(r, axis)
		d, s := p.axis(r, axis, c, target)
		doublets = append(doublets, d)
		if s.Count > 0 {
			sweeps = append(sweeps, s)
		}
	}
	p.Written.Inputs = append(doublets, sweeps...)
	if !p.grew {
		p.Written.Inputs = append(p.Written.Inputs, flight.PlannedInput{Kind: flight.HandsStill, Count: 2, LengthS: stillLengthS})
	}
	p.Written.Inputs = append(p.Written.Inputs, flight.PlannedInput{Kind: flight.Hover, Count: 1, LengthS: hoverLengthS})
	p.FlightS = settleS
	for _, i := range p.Written.Inputs {
		p.FlightS += float64(i.Count) * (i.LengthS + pauseS)
	}
	if p.FlightS > longHopS {
		p.caution("This takes %.0f minutes in the air: split it over two hops of the same configuration, and compare them as one.", p.FlightS/60)
	}
	return nil
}

// caution adds a caution, once.
func (p *Plan) caution(format string, args ...any) {
	if text := fmt.Sprintf(format, args...); !slices.Contains(p.Cautions, text) {
		p.Cautions = append(p.Cautions, text)
	}
}

// axis plans one axis.
func (p *Plan) axis(r Request, axis flight.Axis, c *craft, target float64) (doublet, sweep flight.PlannedInput) {
	hold := usualHoldS
	size := p.doubletSize(r, axis, c, hold, target)
	shape := p.sweepShape(r, axis, c, target)
	doublet = flight.PlannedInput{Kind: flight.Doublet, Axis: axis, Count: 2, LengthS: 2 * hold, SizePercent: size * 100}
	sweep = flight.PlannedInput{Kind: flight.Sweep, Axis: axis, LengthS: shape.lengthS, SizePercent: shape.size * 100,
		SizeEndPercent: shape.sizeEnd * 100, FromRadS: math.Round(shape.fromRadS*100) / 100, ToRadS: shape.toRadS}
	a := AxisPlan{Axis: axis, Basis: c.basis, Hops: c.hops}
	expect := func() {
		a.expect(c, []input{doubletInput(doublet.Count, size, hold), sweepInput(sweep.Count, shape)}, r.WishS)
	}
	// No repeat brings the interval below its floor: then they only come near it.
	near := max(r.WishS, nearFloor*c.floorS)
	if !p.grew {
		sweep.Count = 1
	}
	most := mostSweeps
	if p.careful() {
		most = mostSweepsFirst
	}
	for expect(); max(a.HalfWidthS, a.PhaseHalfWidthS) > near; expect() {
		if sweep.Count > 0 && sweep.Count < most {
			sweep.Count++
		} else if sweep.Count == 0 && doublet.Count < mostDoublets {
			doublet.Count += 2
		} else {
			break
		}
	}
	if !a.Reached {
		p.notReached(r, &a, needed(c, sweep.Count, doubletInput(1, size, hold), sweepInput(1, shape), r.WishS))
	}
	a.DoubletRad = size * c.doubletPeakRad(hold)
	a.DoubletBandRadS, _ = Band90(doublet)
	if sweep.Count > 0 {
		a.SweepRad = c.sweepPeakRad(shape)
	}
	if a.DoubletRad > 1.2*target || a.SweepRad > 1.2*target {
		p.caution("%s: even the smallest input that can be told from the pilot's own work is expected to reach %.0f deg. Halve it if the aircraft answers that much.",
			axis, max(a.DoubletRad, a.SweepRad)/deg)
	}
	p.Axes = append(p.Axes, a)
	return doublet, sweep
}

// expect works out what the inputs give.
func (a *AxisPlan) expect(c *craft, in []input, wishS float64) {
	a.FloorS = c.floorS
	a.HalfWidthS = math.Hypot(c.floorS, 1.96*c.excess*c.delaySD(in))
	a.PhaseHalfWidthS = 1.96 * c.phaseSD(2*math.Pi, in) / (2 * math.Pi)
	a.Reached = a.HalfWidthS <= wishS && a.PhaseHalfWidthS <= wishS
}

// nearFloor is how near to the floor of the interval repeats are worth flying.
const nearFloor = 1.05

// mostNeeded repeats still fit into a few hops.
const mostNeeded = 40

// needed is how many sweeps with two doublets, or doublets where no sweeps are flown, reach
// the wish; 0 if mostNeeded do not.
func needed(c *craft, sweeps int, doublet, sweep input, wishS float64) int {
	var a AxisPlan
	for n := 1; n <= mostNeeded; n++ {
		doublet.count, sweep.count = 2, n
		if sweeps == 0 {
			doublet.count, sweep.count = n, 0
		}
		if a.expect(c, []input{doublet, sweep}, wishS); a.Reached {
			return n
		}
	}
	return 0
}

// notReached says what would help.
func (p *Plan) notReached(r Request, a *AxisPlan, needed int) {
	expected, wish := max(a.HalfWidthS, a.PhaseHalfWidthS)*1e3, r.WishS*1e3
	switch {
	case a.FloorS >= r.WishS:
		p.caution("%s: repeats do not bring the interval of the delay below about %.0f ms, which is what method and clocks leave; wished are %g ms.",
			a.Axis, a.FloorS*1e3, wish)
	case a.Basis == Assumed:
		p.caution("The hop is kept short: a delay within %.0f ms is expected, %s for %g ms. Usually it comes out better; plan the next hop from this one.",
			expected, inAll(needed), wish)
	default:
		p.caution("%s: with all of this about %.0f ms are expected, %s for %g ms. Calmer air helps more than repeats; or fly it again, and compare the hops as one.",
			a.Axis, expected, inAll(needed), wish)
	}
}

func inAll(needed int) string {
	if needed == 0 {
		return "and no number of repeats that fits into a few hops is enough"
	}
	return fmt.Sprintf("and it would take some %d repeats in all", needed)
}

// roundSize rounds a size to half a percent of travel, which a hand can still tell apart.
func roundSize(x float64) float64 { return math.Round(x*200) / 200 }

func (p *Plan) doubletSize(r Request, axis flight.Axis, c *craft, holdS, target float64) float64 {
	if c.attitude == nil {
		p.caution("Nothing is known of how this aircraft answers: the sizes are small guesses. Look at the first doublet before the next; if the attitude hardly moves, fly the next twice as large, if it passes %.0f deg, half as large.", target/deg)
		return blindDoublet
	}
	size := min(target/c.doubletPeakRad(holdS), mostDoublet, p.room(axis)/2, mostGrowth*flownSize(r.Same, flight.Doublet, axis))
	return roundSize(max(size, leastDoublet))
}

// flownSize is the largest size of a kind of input in the hops, +Inf if there was none.
func flownSize(hops []Earlier, kind flight.SegmentKind, axis flight.Axis) float64 {
	most := 0.0
	for _, e := range hops {
		for _, s := range e.Segments {
			if s.Kind == kind && s.Axis == axis {
				most = max(most, travel(e.Hop, s)/2)
			}
		}
	}
	if most == 0 {
		return math.Inf(1)
	}
	return most
}

// travel is how far the segment's stick went from one side to the other, 0 if it is not known.
// Quantiles stand for the ends, so that the pilot's own corrections on top count for little: a
// doublet spends half its time at each of its two levels, a sweep comes to its ends ever again.
func travel(h *flight.Hop, s flight.Segment) float64 {
	ch := h.Channel(s.Axis.Stick())
	if ch == nil {
		return 0
	}
	var x []float64
	for i := ch.Index(s.Span.FromS); i < ch.Index(s.Span.ToS); i++ {
		if v := ch.Value[i]; v == v {
			x = append(x, v)
		}
	}
	if len(x) < 4 {
		return 0
	}
	slices.Sort(x)
	end := 0.02
	if s.Kind == flight.Doublet || s.Kind == flight.Steps {
		end = 0.2
	}
	k := int(end * float64(len(x)-1))
	return x[len(x)-1-k] - x[k]
}

func (p *Plan) sweepShape(r Request, axis flight.Axis, c *craft, target float64) sweepShape {
	s := sweepShape{sweepFromRadS, sweepToRadS, sweepLengthS, blindSweep, sweepGrowth * blindSweep}
	if c.attitude == nil {
		return s
	}
	s.size, s.sizeEnd = 1, sweepGrowth
	size := min(target/c.sweepPeakRad(s), mostSweep, mostGrowth*flownSize(r.Same, flight.Sweep, axis)/sweepGrowth)
	s.size = roundSize(max(size, leastSweep))
	s.sizeEnd = sweepGrowth * s.size
	return s
}

// room is how much stick there is to move in an axis: what the limit leaves, and what the
// last hop had left beyond it.
func (p *Plan) room(axis flight.Axis) float64 {
	keep := p.limit().ControlLeftPercent
	room := 100 - keep
	if p.Last != nil {
		for _, c := range p.Last.Stability.Control {
			if c.Axis == axis {
				room = min(room, max(2*100*leastDoublet, c.LeftPercent-keep))
			}
		}
	}
	return room / 100
}
