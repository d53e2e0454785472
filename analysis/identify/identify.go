package identify

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"hopcard/analysis/debrief"
	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// Agreement says whether a flown number agrees with the dimensions.
type Agreement string

// The agreements. Unknown: aircraft.toml does not give the number.
const (
	Agrees  Agreement = "agrees"
	Differs Agreement = "differs"
	Unknown Agreement = ""
)

// Parameter is one number of the rotor head as flown.
type Parameter struct {
	Key  string // stable: "bar_following_time"
	Name string
	Unit flight.Unit
	// Estimate is nil where these hops do not tell it; Reason says why, and Hint what flying
	// would tell it.
	Estimate     *flight.Estimate
	Reason, Hint string
	// Dimensions is the number by the dimensions in aircraft.toml, NaN if they do not give
	// it; Usual says that it is the model's usual value, not from dimensions.
	Dimensions float64
	Usual      bool
	Agreement  Agreement
	Hops       []string // that told it
	// SpreadSD is the scatter from hop to hop beyond the hops' own errors, as a share for
	// positive numbers, else in Unit; NaN of one hop.
	SpreadSD float64
	Positive bool
}

// Result is a rotor head as its hops show it.
type Result struct {
	Configuration flight.Configuration // as given
	Surroundings  rotor.Surroundings
	// Dimensions is the head by its dimensions, Head the same with what the hops tell in the
	// place of the dimensions.
	Dimensions, Head rotor.Head
	Hops             []HopFit
	Parameters       []Parameter
	NotTold          []string // sentences, one for each parameter without an estimate
	Products         []string // what no hop tells apart
	Assumptions      []string
	Notes            []string
}

// ErrNothing is wrapped by errors about hops that tell nothing of a head.
var ErrNothing = errors.New("identify: no hop to fit to")

// Fit fits the rotor head of a configuration to hops flown with it. s gives what the
// configuration does not; its dead time only serves as a start. The error is that of
// rotor.FromConfiguration, ErrNothing wrapped where no hop counts, or the context's.
func Fit(ctx context.Context, hops []*debrief.Debrief, c flight.Configuration, s rotor.Surroundings,
	progress func(done float64, what string)) (*Result, error) {
	if progress == nil {
		progress = func(float64, string) {}
	}
	start, assumptions, err := rotor.FromConfiguration(c, s)
	if err != nil {
		return nil, err
	}
	start.SpeedTilt = speedTilt(start)
	r := &Result{Configuration: c, Surroundings: s, Dimensions: start}
	for i, d := range hops {
		progress(float64(i)/float64(len(hops)), d.Hop.Name+": fitting the rotor head")
		f, err := fitHop(ctx, d, start)
		if err != nil {
			return nil, err
		}
		r.Hops = append(r.Hops, f)
	}
	if r.count() == 0 {
		return nil, fmt.Errorf("%w: %s", ErrNothing, r.problems())
	}
	for _, q := range quantities(start, s) {
		p := r.parameter(q)
		r.Parameters = append(r.Parameters, p)
		if p.Estimate == nil {
			r.NotTold = append(r.NotTold, fmt.Sprintf("%s: %s; %s would tell it", p.Name, p.Reason, p.Hint))
		}
	}
	r.Assumptions = r.stillAssumed(assumptions)
	r.Head = r.headOf()
	r.Products = products(start)
	r.notes()
	progress(1, "rotor head fitted")
	return r, nil
}

func speedTilt(h rotor.Head) float64 {
	if h.SpeedTilt == 0 {
		return rotor.DefaultSpeedTilt
	}
	return h.SpeedTilt
}

// stillAssumed leaves out what the hops told.
func (r *Result) stillAssumed(assumptions []string) []string {
	told := map[string]string{"dead_time": rotor.AssumedNoDelay, "flap_back": fmt.Sprintf(rotor.AssumedFlapBack, rotor.DefaultSpeedTilt)}
	var out []string
	for _, a := range assumptions {
		known := false
		for _, p := range r.Parameters {
			known = known || p.Estimate != nil && told[p.Key] == a
		}
		if !known {
			out = append(out, a)
		}
	}
	return out
}

// count is how many hops count.
func (r *Result) count() int {
	n := 0
	for i := range r.Hops {
		if r.Hops[i].free != nil {
			n++
		}
	}
	return n
}

func (r *Result) problems() string {
	if len(r.Hops) == 0 {
		return "none was given"
	}
	var list []string
	for _, h := range r.Hops {
		list = append(list, h.Name+": "+h.Problem)
	}
	return strings.Join(list, "; ")
}

// parameter pools what the hops say of a quantity.
func (r *Result) parameter(q quantity) Parameter {
	p := Parameter{Key: q.key, Name: q.name, Unit: q.unit, Hint: q.hint, Positive: q.positive, Usual: q.assumed,
		Dimensions: q.of(r.Dimensions), SpreadSD: math.NaN()}
	if q.key == "dead_time" && q.assumed || q.key == "phasing_error" && r.Configuration.AdvanceDeg == 0 {
		p.Dimensions = math.NaN()
	}
	var told []spread
	trades := ""
	for i := range r.Hops {
		f := &r.Hops[i]
		if f.free == nil {
			continue
		}
		e, ok, with := f.told(q)
		if !ok {
			if with != "" {
				trades = with
			}
			continue
		}
		told = append(told, spreadOf(e, q.positive))
		p.Hops = append(p.Hops, f.Name)
	}
	if len(told) == 0 {
		p.Reason = "nothing that was measured depends on it"
		if trades != "" {
			p.Reason = "these hops do not tell it from the " + trades
		} else if r.moves(q) {
			p.Reason = "its interval spans more than a factor of ten, or more than its size"
		}
		return p
	}
	mean, half, sd := pool(told)
	p.SpreadSD = sd
	if q.positive && len(told) > 1 {
		p.SpreadSD = math.Expm1(sd)
	}
	e := q.estimate(mean, half)
	p.Estimate = &e
	if !math.IsNaN(p.Dimensions) {
		p.Agreement = Differs
		if e.Low <= p.Dimensions && p.Dimensions <= e.High {
			p.Agreement = Agrees
		}
	}
	return p
}

// moves reports whether a fitted parameter of any hop moves the quantity.
func (r *Result) moves(q quantity) bool {
	for i := range r.Hops {
		if f := r.Hops[i].free; f != nil {
			for k, g := range gradient(f.Head, f.Unknown, rotor.Coordinates(f.Head, f.Unknown), q.value) {
				if g != 0 && !f.Blind[k] {
					return true
				}
			}
		}
	}
	return false
}

// products says what is only known as a product.
func products(h rotor.Head) []string {
	list := []string{"cyclic throw and stick_to_blade act only as their product"}
	if h.HasBar() {
		list[0] = "cyclic throw, stick_to_blade and stick_to_paddle act only as products: blade pitch and paddle pitch at full stick"
		list = append(list, "the bar's weights, paddles and inertia act only through its following time")
	}
	return append(list, "moments of inertia act only with mass and hub height",
		"density, lift slope, chord and flap inertia of the blades act only through the following time of the disc")
}

func (r *Result) notes() {
	n := r.count()
	if n == 1 {
		r.Notes = append(r.Notes, "One hop: what differs from hop to hop anyway is not in the intervals. A second hop would tell.")
	}
	for _, h := range r.Hops {
		switch {
		case h.Problem != "":
			r.Notes = append(r.Notes, fmt.Sprintf("%s counts for nothing: %s.", h.Name, h.Problem))
		case h.ChiSquare > goodChiSquare:
			r.Notes = append(r.Notes, fmt.Sprintf("%s: the model misses what was measured by more than its errors (misfit %.1f); the intervals are wider by as much.", h.Name, h.ChiSquare))
		}
	}
}
