package plan

import (
	"errors"
	"fmt"
	"strings"

	"hopcard/analysis/response"
	"hopcard/analysis/rotor"
	"hopcard/analysis/stability"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// Request is what a plan is made from.
type Request struct {
	Aircraft      *flight.Aircraft // limits filled, as flight.ReadAircraft does it
	Configuration string
	Hop           string // name of the hop planned, empty if it has none yet
	// Set are the limits as aircraft.toml has them, not filled with defaults.
	Set flight.Limits
	// WishS is the wished half width of the 95 % interval of the delay; 0 stands for UsualWishS.
	WishS float64
	// Last is the hop flown before this one, nil if there is none.
	Last *Earlier
	// Same are earlier hops of the configuration, the newest first.
	Same []Earlier
}

// UsualWishS is the half width that is planned for if none is wished: a tenth of the shortest
// delays that a pilot feels as late.
const UsualWishS = 0.010

// Earlier is a hop flown before, as its debrief has it.
type Earlier struct {
	Hop       *flight.Hop
	Proceed   string   // the verdict: "yes", "caution" or "no"
	Advice    []string // of the verdict
	Segments  []flight.Segment
	Responses []response.Result
	Wind      wind.Result
	Stability stability.Result
}

// Plan is the card before the hop.
type Plan struct {
	// Written is what plan.toml holds.
	Written       flight.Plan
	Hop           string
	Aircraft      *flight.Aircraft
	Configuration *flight.Configuration
	Last          *Earlier
	safe          bool // it was flown before without a reason to stop
	grew          bool // a swing grew when it was flown last
	// Changes since the last hop; Known is false where its configuration is not known.
	Changes      []Change
	ChangesKnown bool
	// Why the build-up step is what it is, most urgent first.
	Why []string
	// Limits of this hop, and where each is from.
	Limits []Limit
	Aborts []string // with the numbers
	Axes   []AxisPlan
	// Cautions about this plan, most urgent first; what holds for every hop is the card's.
	Cautions []string
	// FlightS is how long it takes in the air, with pauses.
	FlightS float64
}

// Basis says where the numbers for an axis are from.
type Basis string

// The bases.
const (
	Measured Basis = "earlier hops"
	Model    Basis = "rotor model"
	Assumed  Basis = "assumed"
)

// AxisPlan is what is expected of the inputs in one axis.
type AxisPlan struct {
	Axis  flight.Axis
	Basis Basis
	Hops  []string // the earlier hops it rests on
	// HalfWidthS is the expected half width of the interval of the delay, of which FloorS is
	// what no repeat brings down.
	HalfWidthS, FloorS float64
	// PhaseHalfWidthS is that of the phase lag at 1 Hz, as time.
	PhaseHalfWidthS float64
	Reached         bool // both are within the wish
	// DoubletRad and SweepRad are the largest attitudes expected, from trim, stick else held; 0
	// where nothing is known of the aircraft.
	DoubletRad, SweepRad float64
	DoubletBandRadS      [2]float64 // 90 % of the doublet's energy
}

// RefusedError is why there is no plan, and what to do.
type RefusedError struct{ Text string }

func (e *RefusedError) Error() string { return e.Text }

// ErrConfiguration is wrapped where aircraft.toml has no such configuration.
var ErrConfiguration = errors.New("no such configuration")

// Bounds of the wish: less than a sample of the usual loggers, and more than any delay.
const (
	leastWishS = 0.001
	mostWishS  = 0.5
)

// Make plans a hop. The error is ErrConfiguration, wrapped, or a *RefusedError.
func Make(r Request) (*Plan, error) {
	c := r.Aircraft.Configuration(r.Configuration)
	if c == nil {
		return nil, fmt.Errorf("%q: %w; %s", r.Configuration, ErrConfiguration, namesOf(r.Aircraft))
	}
	if r.WishS == 0 {
		r.WishS = UsualWishS
	}
	if !(r.WishS >= leastWishS && r.WishS <= mostWishS) {
		return nil, &RefusedError{fmt.Sprintf("a half width of %g ms cannot be planned for; wish for %g to %g ms",
			r.WishS*1e3, leastWishS*1e3, mostWishS*1e3)}
	}
	p := &Plan{Hop: r.Hop, Aircraft: r.Aircraft, Configuration: c, Last: r.Last}
	p.Written = flight.Plan{Format: flight.SettingsFormat, Configuration: c.Name, WishMS: r.WishS * 1e3,
		KnocksBefore: knocksEach, KnocksAfter: knocksEach}
	p.change(r)
	p.buildUp(r)
	p.limits(r)
	if err := p.inputs(r); err != nil {
		return nil, err
	}
	p.aborts()
	return p, nil
}

func namesOf(a *flight.Aircraft) string {
	if len(a.Configurations) == 0 {
		return "there is none; describe it in " + flight.AircraftFile + " as [[configuration]]"
	}
	var names []string
	for _, c := range a.Configurations {
		names = append(names, fmt.Sprintf("%q", c.Name))
	}
	return "there is " + strings.Join(names, ", ")
}

// knocksEach is how many taps are asked for before and after: two trains of three, each
// spaced unevenly and the other way round, fit together in one way only.
const knocksEach = 3

// head is the rotor head of the configuration, if its dimensions are given.
func (p *Plan) head(delayS float64) (*rotor.Prediction, bool) {
	n, err := rotor.Predict(*p.Configuration, rotor.Surroundings{ControlDelayS: delayS})
	return n, err == nil
}
