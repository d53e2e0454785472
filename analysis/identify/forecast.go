package identify

import (
	"fmt"
	"math"
	"slices"

	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// Forecast is what the fitted head says about a configuration.
type Forecast struct {
	From, To flight.Configuration // as flown, as changed
	Rows     []Row
	// RestsOn names what no hop told and the dimensions stand for.
	RestsOn []string
	Notes   []string
}

// Row is one number of a forecast. Estimates are nil where there is no such number, or where
// it is withheld.
type Row struct {
	Name  string
	Unit  flight.Unit
	Paper float64 // by the dimensions of To alone, NaN if there is none
	// Flown is by the fitted head as flown, Changed as changed, Moves the one less the other:
	// its interval is narrower than theirs, because most of what is not known is in both.
	Flown, Changed, Moves *flight.Estimate
	Withheld              string // why, empty if it is not
}

// Quick is the prediction for a configuration by the mean of the fitted heads, without
// intervals: one call for each key press of a screen. The error is that of Forecast.
func (r *Result) Quick(to flight.Configuration) (*rotor.Prediction, error) {
	h, err := r.head(r.Head, to)
	if err != nil {
		return nil, err
	}
	p, err := rotor.PredictHead(h)
	if err != nil {
		return nil, err
	}
	p.Assumptions = r.Assumptions
	return p, nil
}

// Forecast predicts a configuration, with 95 % intervals that hold what differs from hop to
// hop; that of the hops themselves predicts what was flown. The changed dimensions
// are taken to be known. The error wraps ErrChange, rotor.ErrNotPhysical or is a
// *rotor.MissingError.
func (r *Result) Forecast(to flight.Configuration) (*Forecast, error) {
	if _, err := r.head(r.Head, to); err != nil {
		return nil, err
	}
	paper, err := rotor.Predict(to, r.Surroundings)
	if err != nil {
		return nil, err
	}
	f := &Forecast{From: r.Configuration, To: to}
	var each []hopForecast
	for i := range r.Hops {
		if r.Hops[i].held == nil {
			continue
		}
		one, err := r.forecastHop(&r.Hops[i], to)
		if err != nil {
			return nil, err
		}
		each = append(each, one)
	}
	for k, n := range paper.Numbers() {
		f.Rows = append(f.Rows, rowOf(n, each, k))
	}
	f.notes(r, each)
	return f, nil
}

// hopForecast is what one hop's head says: for every number as flown, as changed and the
// difference. sd is NaN where there is no number.
type hopForecast struct {
	parts [3][]spread
	// rests names, for each number, what it rests on that the hop does not tell; empty if
	// nothing that matters.
	rests [][]rotor.Unknown
	fixed []rotor.Unknown
}

// forecastHop takes the numbers of one hop's head with their errors to first order.
func (r *Result) forecastHop(f *HopFit, to flight.Configuration) (hopForecast, error) {
	fit := f.held
	x := rotor.Coordinates(fit.Head, fit.Unknown)
	cov := withClock(fit, f.clockS)
	at := func(x []float64) ([3][]float64, error) {
		return r.numbers(rotor.AtCoordinates(fit.Head, fit.Unknown, x), to)
	}
	base, err := at(x)
	if err != nil {
		return hopForecast{}, err
	}
	slopes, err := slopesOf(at, x, cov, base)
	if err != nil {
		return hopForecast{}, err
	}
	out := hopForecast{fixed: f.fixed}
	g := make([]float64, len(x))
	for part := range base {
		for k, v := range base[part] {
			for i := range x {
				g[i] = slopes[i][part][k]
			}
			out.parts[part] = append(out.parts[part], spread{v, math.Sqrt(form(g, cov))})
		}
	}
	if err := r.bend(f, to, x, cov, slopes, &out); err != nil {
		return out, err
	}
	out.rests, err = r.restsOn(f, to, base, out)
	return out, err
}

// slopesOf are those of all numbers by each coordinate, by central differences.
func slopesOf(at func(x []float64) ([3][]float64, error), x []float64, cov [][]float64, base [3][]float64) ([][3][]float64, error) {
	slopes := make([][3][]float64, len(x))
	for i := range x {
		// A step of a fifth of the error: small, and large against rounding.
		step := math.Max(1e-6, math.Sqrt(cov[i][i])/5)
		up, down := slices.Clone(x), slices.Clone(x)
		up[i], down[i] = x[i]+step, x[i]-step
		width := 2 * step
		high, errHigh := at(up)
		low, errLow := at(down)
		switch { // at an edge of what is physical, such as no dead time: one side
		case errHigh != nil && errLow != nil:
			return nil, errHigh
		case errLow != nil:
			low, width = base, step
		case errHigh != nil:
			high, width = base, step
		}
		for part := range base {
			for k := range base[part] {
				slopes[i][part] = append(slopes[i][part], (high[part][k]-low[part][k])/width)
			}
		}
	}
	return slopes, nil
}

// bend widens the errors of sizes, which bend at zero: there the slope says nothing. Each is
// taken at both ends of the interval, along the combination of parameters that moves it
// most, and the farther one counts.
func (r *Result) bend(f *HopFit, to flight.Configuration, x []float64, cov [][]float64, slopes [][3][]float64, out *hopForecast) error {
	p, err := rotor.PredictHead(f.held.Head)
	if err != nil {
		return err
	}
	for k, n := range p.Numbers() {
		if !n.Bends() {
			continue
		}
		for part := range out.parts {
			s := &out.parts[part][k]
			if !(s.sd > 0) {
				continue
			}
			for _, end := range []float64{-normal95, normal95} {
				at := slices.Clone(x)
				for i := range x {
					for l := range x {
						at[i] += end * cov[i][l] * slopes[l][part][k] / s.sd
					}
				}
				moved, err := r.numbers(rotor.AtCoordinates(f.held.Head, f.held.Unknown, at), to)
				if err != nil {
					continue // an end that is not physical is none
				}
				s.sd = math.Max(s.sd, math.Abs(moved[part][k]-s.y)/normal95)
			}
		}
	}
	return nil
}

// withClock is the covariance with that of the clocks in the dead time.
func withClock(f *rotor.Fit, clockS float64) [][]float64 {
	cov := make([][]float64, len(f.Covariance))
	for i := range cov {
		cov[i] = slices.Clone(f.Covariance[i])
		if f.Unknown[i] == rotor.UnknownDelay {
			cov[i][i] += clockS * clockS
		}
	}
	return cov
}

// numbers are those of a head as flown, as changed, and the difference.
func (r *Result) numbers(h rotor.Head, to flight.Configuration) (out [3][]float64, err error) {
	changed, err := r.head(h, to)
	if err != nil {
		return out, err
	}
	before, err := rotor.PredictHead(h)
	if err != nil {
		return out, err
	}
	after, err := rotor.PredictHead(changed)
	if err != nil {
		return out, err
	}
	a, b := before.Numbers(), after.Numbers()
	for k := range a {
		out[0] = append(out[0], a[k].Value)
		out[1] = append(out[1], b[k].Value)
		out[2] = append(out[2], b[k].Value-a[k].Value)
	}
	return out, nil
}

// restsOn finds the numbers that move by more than their interval if what is held at the
// dimensions is off by a quarter, or a dead time by 20 ms.
func (r *Result) restsOn(f *HopFit, to flight.Configuration, base [3][]float64, of hopForecast) ([][]rotor.Unknown, error) {
	rests := make([][]rotor.Unknown, len(base[1]))
	for _, u := range f.fixed {
		step := math.Log(1.25)
		switch u {
		case rotor.UnknownDelay:
			step = 0.02
		case rotor.UnknownAdvance:
			step = 5 / perDeg
		}
		one := []rotor.Unknown{u}
		x := rotor.Coordinates(f.held.Head, one)[0]
		moved, err := r.numbers(rotor.AtCoordinates(f.held.Head, one, []float64{x + step}), to)
		if err != nil {
			return nil, err
		}
		for k := range rests {
			off := math.Abs(moved[1][k] - base[1][k])
			if !(off <= normal95*of.parts[1][k].sd) && !math.IsNaN(base[1][k]) && !(off < 1e-9) {
				rests[k] = append(rests[k], u)
			}
		}
	}
	return rests, nil
}

// rowOf pools number k over the hops that tell all that it rests on.
func rowOf(n rotor.Number, each []hopForecast, k int) Row {
	row := Row{Name: n.Name, Unit: n.Unit, Paper: n.Value}
	var use []hopForecast
	for _, h := range each {
		if len(h.rests[k]) == 0 {
			use = append(use, h)
		} else if row.Withheld == "" {
			row.Withheld = fmt.Sprintf("rests on the %s, which these hops do not tell", h.rests[k][0])
		}
	}
	if len(use) == 0 {
		return row
	}
	row.Withheld = ""
	row.Flown, row.Changed, row.Moves = pooled(use, 0, k), pooled(use, 1, k), pooled(use, 2, k)
	for _, e := range []*flight.Estimate{row.Flown, row.Changed} {
		if e != nil && n.Bends() {
			e.Low = math.Max(0, e.Low)
		}
	}
	if row.Changed == nil {
		for _, h := range use {
			if !math.IsNaN(h.parts[1][k].y) {
				row.Withheld = "within the intervals of what was fitted there may be none"
			}
		}
	}
	return row
}

// pooled is the mean of one part of number k, nil if a hop's head has no such number.
func pooled(each []hopForecast, part, k int) *flight.Estimate {
	var list []spread
	for _, h := range each {
		s := h.parts[part][k]
		if math.IsNaN(s.y+s.sd) || math.IsInf(s.y+s.sd, 0) {
			return nil
		}
		list = append(list, spread{s.y, math.Max(s.sd, 1e-12)})
	}
	mean, half, _ := pool(list)
	return &flight.Estimate{Value: mean, Low: mean - half, High: mean + half}
}

func (f *Forecast) notes(r *Result, each []hopForecast) {
	seen := map[rotor.Unknown]bool{}
	for _, h := range each {
		for _, u := range h.fixed {
			if !seen[u] {
				seen[u] = true
				f.RestsOn = append(f.RestsOn, string(u))
			}
		}
	}
	if f.From.Bar == nil && f.To.Bar != nil {
		f.Notes = append(f.Notes, "The hops were flown without a bar: what a bar does is by its dimensions alone, and not in the intervals.")
	}
	f.Notes = append(f.Notes, "The change itself is taken as exactly known: it goes through the dimensions as a ratio to the fitted numbers. Weigh and measure it.")
	if len(each) == 1 {
		f.Notes = append(f.Notes, "One hop: what differs from hop to hop anyway is not in the intervals.")
	}
}
