package simulate

import (
	"math"
	"math/cmplx"
	"sort"

	"gonum.org/v1/gonum/mat"

	"hopcard/analysis/rotor"
	"hopcard/flight"
)

// LoopAt returns the loop of pilot and aircraft at s, broken at the stick of the axis with
// the other axis closed: positive where the loop answers a stick push with the opposite
// push, as in L = Y H. factor multiplies the pilot's gain in the axis.
func LoopAt(m *rotor.Model, p Pilot, a flight.Axis, factor float64, s complex128) (complex128, error) {
	own, _, _, _ := ends(a)
	otherAxis, other := flight.RollAxis, rotor.LatStick
	if a == flight.RollAxis {
		otherAxis, other = flight.PitchAxis, rotor.LonStick
	}
	x, err := m.At(s, own)
	if err != nil {
		return 0, err
	}
	y, err := m.At(s, other)
	if err != nil {
		return 0, err
	}
	// The other hand closes its loop: stick o = (K_o x) / (1 - K_o y).
	o := p.Stick(otherAxis, s, x, 1) / (1 - p.Stick(otherAxis, s, y, 1))
	return -(p.Stick(a, s, x, factor) + o*p.Stick(a, s, y, factor)), nil
}

// AttitudeLoopAt is the part of the loop that goes through attitude and its rate alone,
// Y H of the axis's own stick.
func AttitudeLoopAt(m *rotor.Model, p Pilot, a flight.Axis, s complex128) (complex128, error) {
	own, att, _, _ := ends(a)
	x, err := m.At(s, own)
	if err != nil {
		return 0, err
	}
	return p.Response(a, s) * x[att], nil
}

// LoopModes returns the modes of pilot and aircraft together with positive or no imaginary
// part, least damped first, with the pilot's gain multiplied by factor in one axis. Starting
// values come from a rational stand-in for the delays; each is then a root of the loop's
// determinant with the exact delays.
func LoopModes(m *rotor.Model, p Pilot, a flight.Axis, factor float64) []complex128 {
	f := func(s complex128) complex128 { return loopDeterminant(m, p, a, factor, s) }
	var modes []complex128
	for _, s := range startingModes(m, p, a, factor) {
		if cmplx.Abs(s) > 12 || imag(s) < 0 {
			continue // far beyond what a pilot does, and where the stand-in is poor
		}
		s, ok := root(f, s)
		if !ok || imag(s) < -1e-9 {
			continue
		}
		known := false
		for _, t := range modes {
			known = known || cmplx.Abs(s-t) < 1e-5*(1+cmplx.Abs(t))
		}
		if !known {
			modes = append(modes, s)
		}
	}
	sort.SliceStable(modes, func(i, j int) bool { return real(modes[i]) > real(modes[j]) })
	return modes
}

// loopDeterminant is det(I - K X), X the states per stick and K the sticks per state: zero
// at the modes of the closed loop.
func loopDeterminant(m *rotor.Model, p Pilot, a flight.Axis, factor float64, s complex128) complex128 {
	var k [2][2]complex128
	for j, in := range []rotor.Input{rotor.LonStick, rotor.LatStick} {
		x, err := m.At(s, in)
		if err != nil {
			return cmplx.NaN()
		}
		for i, axis := range []flight.Axis{flight.PitchAxis, flight.RollAxis} {
			gain := 1.0
			if axis == a {
				gain = factor
			}
			k[i][j] = p.Stick(axis, s, x, gain)
		}
	}
	return (1-k[0][0])*(1-k[1][1]) - k[0][1]*k[1][0]
}

// root polishes a root of f near s by the secant method.
func root(f func(complex128) complex128, s complex128) (complex128, bool) {
	prev := s * complex(1+1e-4, 1e-5)
	fp := f(prev)
	for range 60 {
		fs := f(s)
		if cmplx.IsNaN(fs) || fs == fp {
			return s, false
		}
		next := s - fs*(s-prev)/(fs-fp)
		prev, fp = s, fs
		if cmplx.Abs(next-s) < 1e-11*(1+cmplx.Abs(s)) {
			return next, true
		}
		s = next
	}
	return s, false
}

// fastestGrowth returns rate and frequency of the fastest growing oscillation of the loop,
// NaN if none grows.
func fastestGrowth(m *rotor.Model, p Pilot, a flight.Axis, factor float64) (growthPerS, frequencyRadS float64) {
	for _, s := range LoopModes(m, p, a, factor) {
		if real(s) > 0 && imag(s) > 0.05 {
			return real(s), imag(s)
		}
	}
	return math.NaN(), math.NaN()
}

// airframeGrowth is the truth of a leg flown with a destabilised airframe.
func airframeGrowth(f *Flight, m *rotor.Model, l LegTruth) Growth {
	g := Growth{Axis: l.Leg.Axis, Span: l.Span, LetGoToS: l.Span.ToS, Passed: true,
		GrowthPerS: math.NaN(), FrequencyRadS: math.NaN()}
	trim := f.Scenario.Trim.PitchRad
	if g.Axis == flight.RollAxis {
		trim = f.Scenario.Trim.RollRad
	}
	y := f.Attitude(g.Axis)
	for k := int(l.Span.FromS / f.StepS); k < len(y) && float64(k)*f.StepS < l.Span.ToS; k++ {
		g.PeakRad = max(g.PeakRad, math.Abs(y[k]-trim))
	}
	for _, mode := range destabilised(m, l.Leg).Modes() {
		s := mode.Eigenvalue
		if imag(s) > 0 && real(s) > 0 && !(real(s) <= g.GrowthPerS) {
			g.GrowthPerS, g.FrequencyRadS = real(s), imag(s)
		}
	}
	return g
}

// startingModes returns the eigenvalues of aircraft and pilot with second-order Padé forms
// in place of both delays.
func startingModes(m *rotor.Model, p Pilot, a flight.Axis, factor float64) []complex128 {
	n := m.Order()
	// States per axis: control delay (2), pilot delay (2), hand, integral, place.
	const per = 7
	size := n + 2*per
	d := mat.NewDense(size, size, nil)
	for i, row := range m.A {
		for j, v := range row {
			d.Set(i, j, v)
		}
	}
	for k, axis := range []flight.Axis{flight.PitchAxis, flight.RollAxis} {
		gain := 1.0
		if axis == a {
			gain = factor
		}
		closeAxis(d, m, p, axis, gain, n+k*per)
	}
	var e mat.Eigen
	if !e.Factorize(d, mat.EigenNone) {
		return nil
	}
	return e.Values(nil)
}

// closeAxis writes one hand into d, from row at on. A second-order Padé delay of T from in
// to out is z1' = z2, z2' = -12/T^2 z1 - 6/T z2 + in, out = in - 12/T z2.
func closeAxis(d *mat.Dense, m *rotor.Model, p Pilot, axis flight.Axis, gain float64, at int) {
	in, att, rate, _ := ends(axis)
	speed, sign := rotor.SpeedForward, 1.0
	if axis == flight.RollAxis {
		speed, sign = rotor.SpeedRight, -1
	}
	stick, integral, place := at+4, at+5, at+6
	// delayed aircraft input = stick - 12/T z2
	delay := func(z int, t float64, feed func(row int, k float64)) float64 {
		t = max(t, 1e-3)
		d.Set(z, z+1, 1)
		d.Set(z+1, z, -12/(t*t))
		d.Set(z+1, z+1, -6/t)
		feed(z+1, 1)
		return -12 / t
	}
	k := delay(at, m.DelayS, func(row int, k float64) { d.Set(row, stick, k) })
	for i := range m.A {
		d.Set(i, stick, m.B[i][in])
		d.Set(i, at+1, m.B[i][in]*k)
	}
	// err = command - attitude; wish = Kp (err - T rate + integral/Ti)
	ti := p.IntegralS.Of(axis)
	kp := p.GainPerRad.Of(axis) * gain
	errInto := func(row int, k float64) {
		d.Set(row, int(att), d.At(row, int(att))-k)
		d.Set(row, int(speed), d.At(row, int(speed))+k*sign*p.SpeedRadPerMS.Of(axis))
		d.Set(row, place, d.At(row, place)+k*p.PlaceRadPerM.Of(axis))
	}
	wishInto := func(row int, k float64) {
		errInto(row, k*kp)
		d.Set(row, int(rate), d.At(row, int(rate))-k*kp*p.LeadS.Of(axis))
		if ti > 0 {
			d.Set(row, integral, d.At(row, integral)+k*kp/ti)
		}
	}
	k = delay(at+2, p.DelayS, wishInto)
	lag := max(p.LagS, 1e-3)
	wishInto(stick, 1/lag)
	d.Set(stick, at+3, d.At(stick, at+3)+k/lag)
	d.Set(stick, stick, d.At(stick, stick)-1/lag)
	errInto(integral, 1)
	d.Set(place, int(speed), sign)
}

// ClosedGust returns the response of pitch to head wind, or of roll to wind from the right,
// with the pilot flying both axes, rad per m/s. The error tells at which frequency the
// aircraft has a pole.
func ClosedGust(m *rotor.Model, p Pilot, a flight.Axis, omegaRadS []float64) ([]complex128, error) {
	_, att, _, wind := ends(a)
	h := make([]complex128, len(omegaRadS))
	for k, w := range omegaRadS {
		x, err := closedStates(m, p, wind, complex(0, w))
		if err != nil {
			return nil, err
		}
		h[k] = x[att]
	}
	return h, nil
}

// closedStates returns the states per m/s of wind with both hands on the stick: the stick
// solves o = K (x_wind + X o), two equations.
func closedStates(m *rotor.Model, p Pilot, wind rotor.Input, s complex128) ([]complex128, error) {
	var x [3][]complex128
	for j, in := range []rotor.Input{wind, rotor.LonStick, rotor.LatStick} {
		var err error
		if x[j], err = m.At(s, in); err != nil {
			return nil, err
		}
	}
	var k [2][3]complex128
	for i, axis := range []flight.Axis{flight.PitchAxis, flight.RollAxis} {
		for j := range x {
			k[i][j] = p.Stick(axis, s, x[j], 1)
		}
	}
	a, b, c, d := 1-k[0][1], -k[0][2], -k[1][1], 1-k[1][2]
	det := a*d - b*c
	lon, lat := (d*k[0][0]-b*k[1][0])/det, (a*k[1][0]-c*k[0][0])/det
	out := make([]complex128, len(x[0]))
	for i := range out {
		out[i] = x[0][i] + lon*x[1][i] + lat*x[2][i]
	}
	return out, nil
}
