package stability

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"hopcard/analysis/segment/series"
	"hopcard/flight"
)

const (
	// A stick whose movement at the oscillation's frequency is smaller than this fraction
	// of travel (amplitude) is still.
	stillSI = 0.01
	// From this share of the stick's movement at the oscillation's frequency on, the stick
	// follows the oscillation.
	followsShare = 0.5
	// Attitude behind the stick by at least this much is the sign of a pilot's loop. The
	// loop of a growing oscillation has 180 deg in all, of which the aircraft takes at
	// least about 90; 75 leaves room for the error of the phase.
	leastBehindRad = 75 * math.Pi / 180
	// Below this share the stick has nothing to do with the oscillation.
	apartShare = 0.25
	// No pilot answers the motion within soonestAnswerS. A growth that the stick follows
	// sooner was set off by the stick: an input that was not recognised, if it is no more
	// than inputs are: less than inputSI of travel, and less than foldNoInput times growth.
	soonestAnswerS = 0.1
	foldNoInput    = 15
	inputSI        = 0.1
	// A growth that the stick only partly goes with must at least be this strong.
	foldPartly = 5
)

// tone is a signal's part at the growing oscillation: amplitude and phase at the end of
// its span, and the share of the signal's variance (less a line) that it explains.
type tone struct {
	at    complex128
	share float64
}

// judge names the kind of a growing oscillation and writes its reason. A growth that the
// stick drives from ahead is an answer to the stick, not an instability: it gives none.
func (t *trace) judge(g growth) []Unstable {
	u := Unstable{Axis: t.axis, FrequencyRadS: &g.omega, GrowthPerS: &g.sigma}
	why, ok := "", true
	if u.Kind, why, ok = t.cause(g); !ok {
		return nil
	}
	u.Span = flight.Span{FromS: t.begin(u.Kind, g), ToS: g.span.ToS}
	u.Reason = fmt.Sprintf("%s grew %.1f-fold in %.1f s at %.1f rad/s%s: %s", t.axis,
		math.Exp(g.sigma.Value*u.Span.LengthS()), u.Span.LengthS(), g.omega.Value, why, u.Kind)
	return []Unstable{u}
}

// cause returns the kind of a growth and, in words, what shows it; ok is false if the stick
// drives it.
func (t *trace) cause(g growth) (kind Kind, why string, ok bool) {
	if t.stick == nil {
		if t.untimed {
			return Unattributed, "; the stick's clock is not the attitude's, so whether the pilot had a part is unknown", true
		}
		return Unattributed, "; no stick was logged, so whether the pilot had a part is unknown", true
	}
	att, stick := t.tone(t.attitude, g), t.tone(t.stick, g)
	size := cmplx.Abs(stick.at)
	behind := behindRad(att.at, stick.at)
	moved := min(size, t.stickReach(g))
	fold := math.Exp(g.sigma.Value * g.span.LengthS())
	held, still := t.heldStill(g)
	switch {
	case still:
		return Airframe, fmt.Sprintf(" while the stick stayed within %.1f %%", 100*held), true
	case size < stillSI:
		return Airframe, fmt.Sprintf(" while the stick stayed within %.1f %%", 100*size), true
	case stick.share < apartShare:
		return Airframe, fmt.Sprintf(" while the stick moved otherwise (%.0f %% of its movement went with it)", 100*stick.share), true
	case stick.share < followsShare:
		return Unattributed, fmt.Sprintf("; %.0f %% of the stick's movement went with it, too little to put it down to the pilot, too much to leave him out",
			100*stick.share), fold > foldPartly
	case behind < leastBehindRad, fold < foldNoInput && moved < inputSI && t.setOff(g):
		return "", "", false
	}
	return PilotCoupled, fmt.Sprintf(" while the stick moved %.0f %% with it and the attitude followed %.0f deg behind the stick",
		100*moved, deg(behind)), true
}

// heldStill returns how far the stick moved in the first part of the growth, and whether
// that is no more than 1.2 % of travel, whatever the pilot did at its end to catch the
// aircraft. Where the growth seems to have begun while he still flew, the longest hold
// counts, if it makes half of the growth and lasts one and a half periods.
func (t *trace) heldStill(g growth) (movedSI float64, still bool) {
	const part, mostSI, half, periods = 0.6, 0.012, 0.45, 1.5
	x := series.MovingMean(t.stick, t.grid.Steps(0.2))
	lo, end := t.grid.Index(g.span.FromS), t.grid.Index(g.span.ToS)
	hi := t.grid.Index(g.span.FromS + part*g.span.LengthS())
	movedSI = slices.Max(x[lo:hi+1]) - slices.Min(x[lo:hi+1])
	if movedSI < mostSI {
		return movedSI, true
	}
	least := int(max(half*g.span.LengthS(), periods*2*math.Pi/g.omega.Value) / stepS)
	for i := lo; i+least <= end; i++ {
		if moved := slices.Max(x[i:i+least]) - slices.Min(x[i:i+least]); moved < mostSI {
			return moved, true
		}
	}
	return movedSI, false
}

// setOff reports whether the stick goes with the motion sooner than a pilot can answer it.
func (t *trace) setOff(g growth) bool {
	third := t.grid.Index(g.span.FromS + g.span.LengthS()/3)
	hi := t.grid.Index(g.span.ToS)
	f := t.hand.fit(func(i int) bool { return i >= third && i <= hi })
	return f.samples > 0 && float64(f.lag)*stepS < soonestAnswerS
}

// stickReach returns half the travel of the stick over the growth: at its stops the fitted
// tone goes beyond what the stick did.
func (t *trace) stickReach(g growth) float64 {
	x := t.stick[t.grid.Index(g.span.FromS) : t.grid.Index(g.span.ToS)+1]
	return (slices.Max(x) - slices.Min(x)) / 2
}

// behindRad returns by how much b leads a, in [0, 2 pi) less a small allowance: phases a
// little ahead count as ahead, not as a whole turn behind.
func behindRad(a, b complex128) float64 {
	p := cmplx.Phase(b) - cmplx.Phase(a)
	for p < -math.Pi/6 {
		p += 2 * math.Pi
	}
	for p >= 2*math.Pi-math.Pi/6 {
		p -= 2 * math.Pi
	}
	return p
}

// tone fits exp(sigma t) (a cos omega t + b sin omega t) + c + d t to x over the growth by
// least squares.
func (t *trace) tone(x []float64, g growth) tone {
	lo, hi := t.grid.Index(g.span.FromS), t.grid.Index(g.span.ToS)
	end := g.span.ToS
	const p = 4
	var ata [p][p]float64
	var atb [p]float64
	row := func(i int) [p]float64 {
		s := t.grid.TimeS(i) - end
		e := math.Exp(g.sigma.Value * s)
		return [p]float64{1, s, e * math.Cos(g.omega.Value*s), e * math.Sin(g.omega.Value*s)}
	}
	for i := lo; i <= hi; i++ {
		r := row(i)
		for j := range r {
			for k := range r {
				ata[j][k] += r[j] * r[k]
			}
			atb[j] += r[j] * x[i]
		}
	}
	c := solve4(ata, atb)
	line := slopeLine(x[lo : hi+1])
	var rss, tss float64
	for i := lo; i <= hi; i++ {
		r := row(i)
		e := x[i] - (c[0]*r[0] + c[1]*r[1] + c[2]*r[2] + c[3]*r[3])
		rss += e * e
		d := x[i] - line(i-lo)
		tss += d * d
	}
	out := tone{at: complex(c[2], -c[3])} // a cos + b sin is the real part of (a - ib) exp(i omega t)
	if tss > 0 {
		out.share = max(1-rss/tss, 0)
	}
	return out
}

// slopeLine returns the straight line of least squares through x.
func slopeLine(x []float64) func(i int) float64 {
	n := float64(len(x))
	var sx, sy, sxx, sxy float64
	for i, v := range x {
		f := float64(i)
		sx, sy, sxx, sxy = sx+f, sy+v, sxx+f*f, sxy+f*v
	}
	b := 0.0
	if d := sxx - sx*sx/n; d > 0 {
		b = (sxy - sx*sy/n) / d
	}
	a := (sy - b*sx) / n
	return func(i int) float64 { return a + b*float64(i) }
}

// solve4 solves a 4 by 4 system by elimination with row exchange; a singular one gives
// zeros.
func solve4(a [4][4]float64, b [4]float64) [4]float64 {
	for k := range 4 {
		p := k
		for i := k + 1; i < 4; i++ {
			if math.Abs(a[i][k]) > math.Abs(a[p][k]) {
				p = i
			}
		}
		a[k], a[p], b[k], b[p] = a[p], a[k], b[p], b[k]
		if a[k][k] == 0 {
			return [4]float64{}
		}
		for i := k + 1; i < 4; i++ {
			f := a[i][k] / a[k][k]
			for j := k; j < 4; j++ {
				a[i][j] -= f * a[k][j]
			}
			b[i] -= f * b[k]
		}
	}
	for k := 3; k >= 0; k-- {
		for j := k + 1; j < 4; j++ {
			b[k] -= a[k][j] * b[j]
		}
		b[k] /= a[k][k]
	}
	return b
}
