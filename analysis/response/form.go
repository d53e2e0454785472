package response

import (
	"math"
	"math/cmplx"
)

// form is one low-order transfer function of rate to stick, with delay. Parameters that
// must be positive are carried as logarithms.
type form struct {
	name   string
	names  []string // of the parameters, with units
	logs   []bool   // which are carried as logarithms
	starts [][]float64
	// logRate evaluates the logarithm of the transfer function at s = jw, on any branch, and
	// writes its derivatives by the parameters as carried to grad unless that is nil.
	logRate func(p []float64, s complex128, grad []complex128) complex128
	// delay and follow are the indices of the dead time and of the disc's following time;
	// follow is -1 where the form has none.
	delay, follow int
}

// rate evaluates the transfer function at s = jw.
func (f form) rate(p []float64, s complex128) complex128 { return cmplx.Exp(f.logRate(p, s, nil)) }

// forms are the models tried, simplest first. The hover form has the attitude's one real
// root and one oscillatory pair of the textbook hover cubic (see Padfield, Helicopter
// Flight Dynamics, chapter 4), the last one the disc's following time beside the dead
// time.
func forms() []form {
	first := form{name: "first-order rate with delay", delay: 1, follow: -1, logRate: logFirst,
		names: []string{"gain_per_s", "delay_s", "time_constant_s"}, logs: []bool{true, false, true}}
	second := form{name: "second-order rate with delay", delay: 1, follow: -1, logRate: logSecond,
		names: []string{"gain_per_s", "delay_s", "frequency_rad_s", "damping_ratio"}, logs: []bool{true, false, true, false}}
	names := []string{"gain_per_s2", "delay_s", "zero_per_s", "root_per_s", "frequency_rad_s", "damping_ratio"}
	logs := []bool{true, false, false, false, true, false}
	pair := form{name: "attitude with one real root and one oscillatory pair, with delay", delay: 1, follow: -1,
		names: names, logs: logs, logRate: logHover}
	disc := form{name: "attitude with one real root and one oscillatory pair, with delay and disc lag", delay: 1, follow: 6,
		names: append(append([]string{}, names...), "disc_following_time_s"), logs: append(append([]bool{}, logs...), true),
		logRate: logHoverDisc}
	first.starts = [][]float64{{0, 0.1, math.Log(0.3)}, {0, 0.1, math.Log(2)}}
	second.starts = [][]float64{{0, 0.05, math.Log(4), 0.7}, {0, 0.05, math.Log(3), 0.2}, {0, 0.05, 0, 0.5}}
	for _, w := range []float64{0.5, 3} {
		for _, root := range []float64{0.3, 2} {
			pair.starts = append(pair.starts, []float64{2, 0.08, 0.05, root, math.Log(w), 0.1})
		}
	}
	for _, p := range pair.starts {
		disc.starts = append(disc.starts, append(append([]float64{}, p...), math.Log(0.05)))
	}
	return []form{first, second, pair, disc}
}

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

// logSecond is K e^(-tau s) w^2/(s^2 + 2 z w s + w^2).
func logSecond(p []float64, s complex128, grad []complex128) complex128 {
	w := complex(math.Exp(p[2]), 0)
	damp := complex(2*p[3], 0) * w * s
	den := s*s + damp + w*w
	if grad != nil {
		grad[0], grad[1], grad[2], grad[3] = 1, -s, 2-(damp+2*w*w)/den, -2*w*s/den
	}
	return complex(p[0]+2*p[2], 0) - complex(p[1], 0)*s - ln(den)
}

// logHover is K e^(-tau s) s (s + a)/((s + r)(s^2 + 2 z w s + w^2)).
func logHover(p []float64, s complex128, grad []complex128) complex128 {
	zero, root := s+complex(p[2], 0), s+complex(p[3], 0)
	w := complex(math.Exp(p[4]), 0)
	damp := complex(2*p[5], 0) * w * s
	den := s*s + damp + w*w
	if grad != nil {
		grad[0], grad[1], grad[2], grad[3] = 1, -s, 1/zero, -1/root
		grad[4], grad[5] = -(damp+2*w*w)/den, -2*w*s/den
	}
	return complex(p[0], 0) - complex(p[1], 0)*s + ln(s*zero/(root*den))
}

// logHoverDisc is logHover over (T s + 1).
func logHoverDisc(p []float64, s complex128, grad []complex128) complex128 {
	ts := complex(math.Exp(p[6]), 0) * s
	if grad != nil {
		grad[6] = -ts / (ts + 1)
	}
	return logHover(p, s, grad) - ln(ts+1)
}
