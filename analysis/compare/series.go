package compare

import (
	"fmt"
	"math"
	"math/rand/v2"

	"hopcard/analysis/debrief"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// series is what the rms of a time history is taken of.
type series string

const (
	attitude   series = "attitude"
	stick      series = "stick"
	stickSpeed series = "stick speed"
)

const (
	// windowS is the length of a window; blockWindows of them in a row are drawn together,
	// so that what lasts longer than a window is not taken for independent.
	windowS       = 10.0
	blockWindows  = 2
	fewestWindows = 6
	drawings      = 400
	// stickStepS is the step of stick speed: long against noise, short against a hand.
	stickStepS = 0.1
)

// rmsIn is the rms about its mean of one axis's attitude or stick over all hovers of a hop
// in one class of air, with an interval by drawing blocks of windows again and again
// (bootstrap of blocks, Kuensch, Annals of Statistics 17(3), 1989, 1217-1241).
func rmsIn(d *debrief.Debrief, axis flight.Axis, class wind.Class, what series) (*flight.Estimate, string) {
	q := axis.Stick()
	if what == attitude {
		q = axis.Attitude()
	}
	c := d.Hop.Channel(q)
	if c == nil {
		return nil, fmt.Sprintf("no %s logged", q)
	}
	spans, why := hoverWindows(d, c, class)
	if why != "" {
		return nil, why
	}
	var windows [][]float64
	for _, s := range spans {
		x := c.Value[c.Index(s.FromS):c.Index(s.ToS)]
		if what == stickSpeed {
			x = speeds(c, s)
		}
		if whole(x) {
			windows = append(windows, x)
		}
	}
	if len(windows) < fewestWindows {
		return nil, fmt.Sprintf("less than %g s of undisturbed hover in %s air", windowS*fewestWindows, class)
	}
	if what != stickSpeed {
		centre(windows)
	}
	return bootstrap(windows), ""
}

// hoverWindows cuts the hovers in that air into windows that the crew did not rule out.
func hoverWindows(d *debrief.Debrief, c *flight.Channel, class wind.Class) ([]flight.Span, string) {
	if classOf(d) == "" {
		return nil, "no wind measured"
	}
	var out []flight.Span
	timed := false
	for _, p := range d.Wind.Phases {
		if p.Span == (flight.Span{}) {
			continue
		}
		timed = true
		if p.Class != class {
			continue
		}
		for _, s := range d.Segments {
			if s.Kind != flight.Hover {
				continue
			}
			from, to := max(s.Span.FromS, p.Span.FromS), min(s.Span.ToS, p.Span.ToS)
			for ; from+windowS <= to; from += windowS {
				if w := (flight.Span{FromS: from, ToS: from + windowS}); !excluded(d.Hop, w) && logged(c, w) {
					out = append(out, w)
				}
			}
		}
	}
	if !timed {
		return nil, "the wind's clock is not that of the aircraft"
	}
	return out, ""
}

func excluded(h *flight.Hop, w flight.Span) bool {
	for _, e := range h.Exclude {
		if e.Overlaps(w) {
			return true
		}
	}
	return false
}

// logged reports whether the channel has nearly all of its samples in the window.
func logged(c *flight.Channel, w flight.Span) bool {
	n := c.Index(w.ToS) - c.Index(w.FromS)
	return float64(n) >= 0.95*windowS*c.RateHz() && n >= int(windowS/stickStepS)/2
}

// speeds are the changes per second between means over stickStepS.
func speeds(c *flight.Channel, w flight.Span) []float64 {
	var out []float64
	last := math.NaN()
	for k := range int(math.Round(windowS / stickStepS)) {
		from := w.FromS + float64(k)*stickStepS
		sum, n := 0.0, 0.0
		for i := c.Index(from); i < c.Index(from+stickStepS); i++ {
			sum += c.Value[i]
			n++
		}
		if n == 0 {
			continue // slower than the step: the next mean stands for both
		}
		if k > 0 && !math.IsNaN(last) {
			out = append(out, (sum/n-last)/stickStepS)
		}
		last = sum / n
	}
	return out
}

func whole(x []float64) bool {
	for _, v := range x {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return false
		}
	}
	return len(x) > 0
}

// centre takes the mean of all windows off.
func centre(windows [][]float64) {
	sum, n := 0.0, 0.0
	for _, w := range windows {
		for _, v := range w {
			sum += v
		}
		n += float64(len(w))
	}
	for i, w := range windows {
		shifted := make([]float64, len(w))
		for k, v := range w {
			shifted[k] = v - sum/n
		}
		windows[i] = shifted
	}
}

// bootstrap returns the rms over all windows with its interval, symmetric in its logarithm.
func bootstrap(windows [][]float64) *flight.Estimate {
	n := len(windows)
	square, weight := make([]float64, n), make([]float64, n)
	for i, w := range windows {
		for _, v := range w {
			square[i] += v * v
		}
		weight[i] = float64(len(w))
	}
	rms := func(pick func(k int) int, n int) float64 {
		s, w := 0.0, 0.0
		for k := range n {
			i := pick(k)
			s, w = s+square[i], w+weight[i]
		}
		return math.Sqrt(s / w)
	}
	value := rms(func(k int) int { return k }, n)
	if !(value > 0) {
		return flight.Plain(value)
	}
	rng := rand.New(rand.NewPCG(8, uint64(n)))
	var sum, sum2 float64
	for range drawings {
		start := 0
		x := math.Log(rms(func(k int) int {
			if k%blockWindows == 0 {
				start = rng.IntN(n)
			}
			return (start + k%blockWindows) % n // round the end, so that all windows count alike
		}, n) / value)
		sum, sum2 = sum+x, sum2+x*x
	}
	mean := sum / drawings
	sd := math.Sqrt(max(0, sum2/drawings-mean*mean) * float64(n) / float64(n-1))
	return &flight.Estimate{Value: value, Low: value * math.Exp(-normal95*sd), High: value * math.Exp(normal95*sd)}
}
