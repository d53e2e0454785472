package identify

import (
	"context"
	"fmt"
	"math"
	"slices"

	"hopcard/analysis/debrief"
	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// HopFit is the fit of one hop.
type HopFit struct {
	Name string
	// ChiSquare is about one or less where the model explains what the hop measured within
	// its errors; NaN if there was no fit.
	ChiSquare float64
	// Problem says why the hop counts for nothing, empty if it counts.
	Problem string
	free    *rotor.Fit      // with all unknowns free; nil with a Problem
	held    *rotor.Fit      // with what the hop does not tell held at the dimensions
	fixed   []rotor.Unknown // what held holds, or the hop has nothing on
	clockS  float64         // standard deviation of the clocks, part of the dead time's
}

const (
	// mostChiSquare is the misfit beyond which the model is not that of the aircraft.
	mostChiSquare = 4
	// goodChiSquare ends the search for a better minimum.
	goodChiSquare = 1
)

// fitHop fits the head to one hop. The error is the context's.
func fitHop(ctx context.Context, d *debrief.Debrief, start rotor.Head) (HopFit, error) {
	out := HopFit{Name: d.Hop.Name, ChiSquare: math.NaN()}
	data, clockHalfS := dataOf(d)
	out.clockS = clockHalfS / normal95
	if len(data.Responses) == 0 {
		out.Problem = "no answer to the stick was measured"
		return out, nil
	}
	unknown := unknowns(start, data)
	free, err := bestFit(ctx, start, unknown, data)
	if ctx.Err() != nil {
		return out, ctx.Err()
	}
	if err != nil {
		out.Problem = "the model cannot be fitted to it"
		return out, nil
	}
	out.ChiSquare = free.ChiSquare
	if free.ChiSquare > mostChiSquare {
		out.Problem = fmt.Sprintf("the model does not explain what was measured (misfit %.1f, at most %d)", free.ChiSquare, mostChiSquare)
		return out, nil
	}
	out.free, out.held = free, free
	out.hold(start, data)
	return out, nil
}

// bestFit fits from several starts, because a bar may be taken for a dead time and the other
// way round: it stops at the first that explains the data.
func bestFit(ctx context.Context, start rotor.Head, unknown []rotor.Unknown, data rotor.Data) (*rotor.Fit, error) {
	var best *rotor.Fit
	var first error
	for _, s := range starts(start) {
		if err := ctx.Err(); err != nil {
			return nil, err
		}
		f, err := rotor.FitData(s, unknown, data)
		switch {
		case err != nil && first == nil:
			first = err
		case err == nil && (best == nil || f.ChiSquare < best.ChiSquare):
			best = f
		}
		if best != nil && best.ChiSquare < goodChiSquare {
			break
		}
	}
	if best == nil {
		return nil, first
	}
	return best, nil
}

func starts(h rotor.Head) []rotor.Head {
	var list []rotor.Head
	for _, delayS := range []float64{max(h.DelayS, 0.03), 0.1, 0.2} {
		for _, factor := range []float64{1, 0.5, 2} {
			s := h
			s.DelayS = delayS
			s.BarTimeS *= factor
			list = append(list, s)
			if !h.HasBar() {
				break
			}
		}
	}
	return list
}

// hold refits with what is not told held at the dimensions, the least told first, until the
// rest is told.
func (f *HopFit) hold(start rotor.Head, data rotor.Data) {
	unknown := slices.Clone(f.free.Unknown)
	for _, u := range unknowns(start, wholeData()) {
		if !slices.Contains(unknown, u) {
			f.fixed = append(f.fixed, u)
		}
	}
	for {
		worst, excess := -1, 1.0
		for i, u := range unknown {
			if r := math.Sqrt(f.held.Covariance[i][i]) * normal95 / widestOf(u); r > excess || f.held.Blind[i] && worst < 0 {
				worst, excess = i, math.Max(r, 1)
			}
		}
		if worst < 0 || len(unknown) == 1 {
			return
		}
		from := f.held.Head
		copyUnknown(&from, start, unknown[worst])
		f.fixed = append(f.fixed, unknown[worst])
		unknown = slices.Delete(unknown, worst, worst+1)
		held, err := rotor.FitData(from, unknown, data)
		if err != nil {
			return // the free fit stands
		}
		f.held = held
	}
}

// widestOf is the half width at which a parameter is not told, in the coordinate it is fitted
// in.
func widestOf(u rotor.Unknown) float64 {
	switch {
	case u.Logarithm():
		return math.Log(widestFactor) / 2
	case u == rotor.UnknownDelay:
		return 0.05
	}
	return 10 / perDeg
}

// copyUnknown sets one parameter of h from another head.
func copyUnknown(h *rotor.Head, from rotor.Head, u rotor.Unknown) {
	one := []rotor.Unknown{u}
	*h = rotor.AtCoordinates(*h, one, rotor.Coordinates(from, one))
}

// told returns what the hop says of a quantity; ok is false if nothing, and trades names the
// quantity's parameter that it cannot be told from, if there is one.
func (f *HopFit) told(q quantity) (e flight.Estimate, ok bool, trades string) {
	fit := f.free
	x := rotor.Coordinates(fit.Head, fit.Unknown)
	g := gradient(fit.Head, fit.Unknown, x, q.value)
	variance := form(g, fit.Covariance)
	moved, blind := false, false
	for i := range g {
		moved = moved || g[i] != 0
		blind = blind || g[i] != 0 && fit.Blind[i]
	}
	v := q.value(fit.Head)
	if !moved || blind || math.IsNaN(v) || math.IsInf(v, 0) {
		return flight.Estimate{}, false, ""
	}
	half := math.Sqrt(variance) * quantile95(math.Max(1, float64(fit.Freedom)))
	if q.key == "dead_time" {
		half = math.Hypot(half, normal95*f.clockS)
	}
	if !(half <= q.widest) {
		return flight.Estimate{}, false, f.partner(g)
	}
	return q.estimate(v, half), true, ""
}

// partner names the parameter whose error goes with that of the combination g, empty if none
// does.
func (f *HopFit) partner(g []float64) string {
	cov := f.free.Covariance
	own := math.Sqrt(form(g, cov))
	best, at := 0.9, -1
	for i := range g {
		if g[i] != 0 {
			continue
		}
		c := 0.0
		for k := range g {
			c += g[k] * cov[k][i]
		}
		if r := math.Abs(c) / (own * math.Sqrt(cov[i][i])); r > best {
			best, at = r, i
		}
	}
	if at < 0 {
		return ""
	}
	return string(f.free.Unknown[at])
}

// gradient is that of a number of the head by the fitted coordinates, by central differences.
func gradient(h rotor.Head, unknown []rotor.Unknown, x []float64, of func(rotor.Head) float64) []float64 {
	const step = 1e-5
	g := make([]float64, len(x))
	for i := range x {
		up, down := slices.Clone(x), slices.Clone(x)
		up[i], down[i] = x[i]+step, x[i]-step
		if d := of(rotor.AtCoordinates(h, unknown, up)) - of(rotor.AtCoordinates(h, unknown, down)); d != 0 {
			g[i] = d / (2 * step)
		}
	}
	return g
}

// form is g' C g.
func form(g []float64, c [][]float64) float64 {
	sum := 0.0
	for i := range g {
		for k := range g {
			sum += g[i] * c[i][k] * g[k]
		}
	}
	return sum
}
