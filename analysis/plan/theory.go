package plan

import (
	"math"
	"math/cmplx"

	"hopcard/flight"
)

// input is something the stick does, with the energy it has at each frequency.
type input struct {
	count int
	// density is |U(w)|^2 of one, (fraction of travel)^2 s^2.
	density func(w float64) float64
	lengthS float64
}

// doubletInput is n doublets of a size, each hold holdS long. Its transform is
// U = size (1 - exp(-jw h))^2/(jw).
func doubletInput(n int, size, holdS float64) input {
	return input{n, func(w float64) float64 {
		u := cmplx.Abs(doubletTransform(w, size, holdS))
		return u * u
	}, 2 * holdS}
}

func doubletTransform(w, size, holdS float64) complex128 {
	e := 1 - cmplx.Exp(complex(0, -w*holdS))
	return complex(size, 0) * e * e / complex(0, w)
}

// sweepInput is n sweeps whose frequency grows by equal shares from one end to the other and
// whose size grows evenly in time. It spends L/(w ln(to/from)) seconds per rad/s with
// size^2/2 of power; the integral of u^2 over time is 1/pi times that of |U|^2 over w
// (Parseval), so that |U|^2 = pi/2 size^2 L/(w ln(to/from)).
func sweepInput(n int, s sweepShape) input {
	ratio := math.Log(s.toRadS / s.fromRadS)
	return input{n, func(w float64) float64 {
		if w < s.fromRadS || w > s.toRadS {
			return 0
		}
		size := s.sizeAt(w)
		return math.Pi / 2 * size * size * s.lengthS / (w * ratio)
	}, s.lengthS}
}

// sweepShape is one sweep.
type sweepShape struct {
	fromRadS, toRadS float64
	lengthS          float64
	size, sizeEnd    float64 // fraction of travel
}

// sizeAt is the size at the time the sweep passes w.
func (s sweepShape) sizeAt(w float64) float64 {
	return s.size + (s.sizeEnd-s.size)*math.Log(w/s.fromRadS)/math.Log(s.toRadS/s.fromRadS)
}

// shapeOf is a planned sweep.
func shapeOf(i flight.PlannedInput) sweepShape {
	end := i.SizeEndPercent
	if end == 0 {
		end = i.SizePercent
	}
	return sweepShape{i.FromRadS, i.ToRadS, i.LengthS, i.SizePercent / 100, end / 100}
}

// Band90 returns the band that holds 90 % of the energy of a planned input, 5 % lying below
// and 5 % above, as flight.Segment has it for what was flown. ok is false for kinds that
// move no stick, and for steps, whose unit the plan does not say.
func Band90(i flight.PlannedInput) (band [2]float64, ok bool) {
	switch i.Kind {
	case flight.Doublet:
		return band90(doubletInput(1, 1, i.LengthS/2).density, 0.05, 40), true
	case flight.Sweep:
		s := shapeOf(i)
		if s.fromRadS > s.toRadS {
			s.fromRadS, s.toRadS, s.size, s.sizeEnd = s.toRadS, s.fromRadS, s.sizeEnd, s.size
		}
		return band90(sweepInput(1, s).density, s.fromRadS, s.toRadS), true
	}
	return [2]float64{}, false
}

func band90(density func(float64) float64, from, to float64) [2]float64 {
	grid := logGrid(from, to, 1500)
	total := integrate(grid, density)
	var band [2]float64
	sum := 0.0
	for k := 1; k < len(grid); k++ {
		if sum < 0.05*total {
			band[0] = grid[k-1]
		}
		if sum < 0.95*total {
			band[1] = grid[k]
		}
		sum += (grid[k] - grid[k-1]) * (density(grid[k]) + density(grid[k-1])) / 2
	}
	return band
}

func logGrid(from, to float64, n int) []float64 {
	g := make([]float64, n)
	for i := range g {
		g[i] = from * math.Pow(to/from, float64(i)/float64(n-1))
	}
	return g
}

// integrate is the trapezoidal rule.
func integrate(w []float64, f func(float64) float64) float64 {
	sum := 0.0
	for k := 1; k < len(w); k++ {
		sum += (w[k] - w[k-1]) * (f(w[k]) + f(w[k-1])) / 2
	}
	return sum
}

// craft is what is known of one axis, on a grid of frequencies, ascending.
type craft struct {
	basis Basis
	hops  []string
	w     []float64
	// attitude per stick, rad; nil where nothing is known of the aircraft.
	attitude []complex128
	// noise is the two-sided density of the rate that is not the stick's doing, divided by the
	// square of the rate per stick: what the stick would have to do for it, (fraction)^2 s.
	noise []float64
	// floorS is what repeats do not bring down of the delay's half width.
	floorS float64
	// excess is by how much the scatter is larger than the least possible.
	excess float64
}

// signal is the sum over the inputs of |U|^2 over the noise, at grid point k: twice the
// number of independent averages times c/(1-c), with c the coherence (Bendat and Piersol,
// Random Data, 4th ed. 2010, ch. 6 and 9: c/(1-c) is the ratio of coherent to other output).
func (c *craft) signal(k int, inputs []input) float64 {
	sum := 0.0
	for _, i := range inputs {
		sum += float64(i.count) * i.density(c.w[k])
	}
	return sum / c.noise[k]
}

// delaySD is the least standard deviation of a delay that the inputs allow: the Cramer-Rao
// bound var = 1/[(T/pi) int w^2 c/(1-c) dw] (Knapp and Carter 1976, IEEE Trans. ASSP-24(4),
// 320-327), where T c/(1-c) is the energy of the input over the noise.
func (c *craft) delaySD(inputs []input) float64 {
	sum := 0.0
	for k := 1; k < len(c.w); k++ {
		a, b := c.w[k-1], c.w[k]
		sum += (b - a) * (a*a*c.signal(k-1, inputs) + b*b*c.signal(k, inputs)) / 2
	}
	if !(sum > 0) {
		return math.Inf(1)
	}
	return math.Sqrt(math.Pi / sum)
}

// resolutionHz is the bandwidth of one independent estimate of the response: windows of 8 s
// with the resolution of a Hann window, 1.5 bins (Harris 1978).
const resolutionHz = 1.5 / 8

// phaseSD is the standard deviation of the phase at w, in rad: sqrt((1-c)/(2 c n)) with
// n = T B independent averages of the resolution B (Bendat and Piersol, table 9.6). T falls
// out: only the energy at that frequency counts.
func (c *craft) phaseSD(w float64, inputs []input) float64 {
	k := 0
	for k+1 < len(c.w) && c.w[k] < w {
		k++
	}
	s := 2 * resolutionHz * c.signal(k, inputs)
	if !(s > 0) {
		return math.Inf(1)
	}
	return 1 / math.Sqrt(s)
}

// doubletPeakRad is the largest attitude from trim in the five seconds after a doublet of
// full size, by synthesis over the grid: 1/pi int Re(H U exp(jwt)) dw. What the aircraft does
// more slowly than the grid is left out; there the pilot has it in hand.
func (c *craft) doubletPeakRad(holdS float64) float64 {
	if c.attitude == nil {
		return 0
	}
	hu := make([]complex128, len(c.w))
	for k, w := range c.w {
		hu[k] = c.attitude[k] * doubletTransform(w, 1, holdS)
	}
	peak := 0.0
	for t := 0.0; t <= 2*holdS+3; t += 0.05 {
		y := 0.0
		for k := 1; k < len(c.w); k++ {
			a := real(hu[k-1] * cmplx.Exp(complex(0, c.w[k-1]*t)))
			b := real(hu[k] * cmplx.Exp(complex(0, c.w[k]*t)))
			y += (c.w[k] - c.w[k-1]) * (a + b) / 2
		}
		peak = max(peak, math.Abs(y)/math.Pi)
	}
	return peak
}

// sweepPeakRad is the largest attitude from trim in a sweep, frequency by frequency.
func (c *craft) sweepPeakRad(s sweepShape) float64 {
	if c.attitude == nil {
		return 0
	}
	peak := 0.0
	for k, w := range c.w {
		if w >= s.fromRadS && w <= s.toRadS {
			peak = max(peak, s.sizeAt(w)*cmplx.Abs(c.attitude[k]))
		}
	}
	return peak
}
