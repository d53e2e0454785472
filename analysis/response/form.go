package response

import (
	"math"
	"math/cmplx"
	"slices"
)

// form is one low-order transfer function of rate to stick, with delay. Parameters that
// must be positive are carried as logarithms.
type form struct {
	name   string
	names  []string // of the parameters, with units
	logs   []bool   // which are carried as logarithms
	starts [][]float64
	// prior holds what is known of each parameter before, as carried: value and standard
	// deviation, which is infinite where nothing is. Nil where the data alone fix them all.
	prior [][2]float64
	// logRate evaluates the logarithm of the transfer function at s = jw, on any branch, and
	// writes its derivatives by the parameters as carried to grad unless that is nil.
	logRate func(p []float64, s complex128, grad []complex128) complex128
	// delay, disc and bar are the indices of the dead time and of the following times of disc
	// and bar; -1 where the form has none.
	delay, disc, bar int
}

// rate evaluates the transfer function at s = jw.
func (f form) rate(p []float64, s complex128) complex128 { return cmplx.Exp(f.logRate(p, s, nil)) }

// The disc in hover, its tilt a, the body's rate q and the speed u obey (see package rotor)
//
//	tau_f da/dt = -a - tau_f q + A + ku u,  dq/dt = M a,  du/dt = -g (theta + a) - x u,
//
// with M the hub's stiffness over inertia. Under a bar the blades take A = ks s + kb ab, and
// tau_b dab/dt = -ab - tau_b q + kp s. So dead time and following time of the disc stand
// for the same thing in every form below; without speed the disc's following time would be one
// over the sum of the two roots, which a form with free roots would hide. Only the first-order form
// has no disc: its delay is the sum of the two.
const (
	iGain = iota
	iDelay
	iDisc
	iStiff
	iSpeed // two parameters
)

// forms are the models tried, simplest first; known is what the priors start from. Those with a
// disc have the speed in them always: a helicopter has it in its answer whether or not the data
// show it, and left out it draws the delays by milliseconds.
func forms(known priors) []form {
	names := []string{"gain", "delay_s", "disc_following_time_s", "stiffness_per_s2", "speed_per_s2", "speed_damping_per_s"}
	logs := []bool{true, false, true, true, false, false}
	bar, barLogs := []string{"bar_feedback_s", "bar_share", "bar_following_time_s"}, []bool{true, false, true}
	first := form{name: "first-order rate with delay", delay: 1, disc: -1, bar: -1, logRate: logFirst,
		names: []string{"gain_per_s", "delay_s", "time_constant_s"}, logs: []bool{true, false, true},
		starts: [][]float64{{0, 0.1, math.Log(0.3)}, {0, 0.1, math.Log(2)}}}
	bare := form{name: "disc and body in hover, with delay", delay: iDelay, disc: iDisc, bar: -1, names: names, logs: logs,
		logRate: func(p []float64, s complex128, grad []complex128) complex128 {
			return logHead(p, iSpeed, -1, s, grad)
		}}
	barred := form{name: "disc, body and bar in hover, with delay", delay: iDelay, disc: iDisc, bar: 8,
		names: join(names, bar), logs: join(logs, barLogs),
		logRate: func(p []float64, s complex128, grad []complex128) complex128 {
			return logHead(p, iSpeed, 6, s, grad)
		}}
	for _, follow := range []float64{0.05, 0.12} {
		for _, stiff := range []float64{5, 30} {
			bare.starts = append(bare.starts, []float64{-1, 0.06, math.Log(follow), math.Log(stiff), usualSpeedPerS2, usualDampPerS})
		}
	}
	for _, follow := range []float64{0.4, 1} {
		for _, p := range bare.starts[1:3] {
			barred.starts = append(barred.starts, join(p, []float64{math.Log(0.4 * follow), 0.5, math.Log(follow)}))
		}
	}
	// Of the bare head the data fix all but the speed. A bar hides its own feedback from a single
	// axis: stiffness, gain, feedback and following time of the bar can be traded against each
	// other. So the form with a bar starts from the span in which light helicopters lie.
	bare.prior = join(unknown(iSpeed), known.speed())
	barred.prior = join(known.head(), known.speed(), known.bar())
	return []form{first, bare, barred}
}

func join[T any](parts ...[]T) []T { return slices.Concat(parts...) }

// ln is the complex logarithm; where the argument vanishes its real part is -Inf.
func ln(z complex128) complex128 {
	re, im := real(z), imag(z)
	return complex(0.5*math.Log(re*re+im*im), math.Atan2(im, re))
}

// logFirst is K e^(-tau s)/(T s + 1).
func logFirst(p []float64, s complex128, grad []complex128) complex128 {
	ts := complex(math.Exp(p[2]), 0) * s
	if grad != nil {
		grad[0], grad[1], grad[2] = 1, -s, -ts/(ts+1)
	}
	return complex(p[0], 0) - complex(p[1], 0)*s - ln(ts+1)
}

// logHead is the head on the body: gain, delay, following time of the disc and stiffness,
// with two parameters of speed from index speed on and three of the bar from index bar on,
// unless these are negative. With
//
//	N = M s (s + x),  D = s^2 (s + x)(tau_f s + 1) + tau_f M s (s + x) + c (s^2 + M),  c = ku g,
//
// the bare head answers with e^(-tau s) N/D; the bar, with feedback F = kb tau_b and share
// r = kb kp/ks, makes of it e^(-tau s) (tau_b s + 1 + r) N/(D (tau_b s + 1) + F N).
func logHead(p []float64, speed, bar int, s complex128, grad []complex128) complex128 {
	follow, m := complex(math.Exp(p[iDisc]), 0), complex(math.Exp(p[iStiff]), 0)
	var c, x complex128
	if speed >= 0 {
		c, x = complex(p[speed], 0), complex(p[speed+1], 0)
	}
	sx := s + x
	n := m * s * sx
	discPart, speedPart := s*s*sx*follow*s+follow*n, c*(s*s+m)
	d := s*s*sx + discPart + speedPart
	var feed, share, tb complex128
	if bar >= 0 {
		feed, share, tb = complex(math.Exp(p[bar]), 0), complex(p[bar+1], 0), complex(math.Exp(p[bar+2]), 0)*s
	}
	b, path := tb+1, tb+1+share
	e := d*b + feed*n
	if grad != nil {
		grad[iGain], grad[iDelay] = 1, -s
		grad[iDisc] = -b * discPart / e
		grad[iStiff] = 1 - (b*(follow*n+c*m)+feed*n)/e
		if speed >= 0 {
			grad[speed] = -b * (s*s + m) / e
			grad[speed+1] = 1/sx - (b*(s*s*(follow*s+1)+follow*m*s)+feed*m*s)/e
		}
		if bar >= 0 {
			grad[bar], grad[bar+1] = -feed*n/e, 1/path
			grad[bar+2] = tb * (1/path - d/e)
		}
	}
	return complex(p[iGain], 0) - complex(p[iDelay], 0)*s + ln(path*n/e)
}
