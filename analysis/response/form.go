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
	// rate evaluates the transfer function at s = jw.
	rate func(p []float64, s complex128) complex128
	// delay and follow are the indices of the dead time and of the disc's following time;
	// follow is -1 where the form has none.
	delay, follow int
}

// forms are the models tried, simplest first. The hover form has the attitude's one real
// root and one oscillatory pair of the textbook hover cubic (see Padfield, Helicopter
// Flight Dynamics, chapter 4), the last one the disc's following time beside the dead
// time.
func forms() []form {
	first := form{name: "first-order rate with delay", delay: 1, follow: -1,
		names: []string{"gain_per_s", "delay_s", "time_constant_s"}, logs: []bool{true, false, true},
		rate: func(p []float64, s complex128) complex128 {
			return complex(math.Exp(p[0]), 0) * cmplx.Exp(-complex(p[1], 0)*s) / (complex(math.Exp(p[2]), 0)*s + 1)
		}}
	second := form{name: "second-order rate with delay", delay: 1, follow: -1,
		names: []string{"gain_per_s", "delay_s", "frequency_rad_s", "damping_ratio"}, logs: []bool{true, false, true, false},
		rate: func(p []float64, s complex128) complex128 {
			w := complex(math.Exp(p[2]), 0)
			return complex(math.Exp(p[0]), 0) * cmplx.Exp(-complex(p[1], 0)*s) * w * w / (s*s + complex(2*p[3], 0)*w*s + w*w)
		}}
	hover := func(p []float64, s complex128) complex128 {
		w := complex(math.Exp(p[4]), 0)
		return complex(math.Exp(p[0]), 0) * cmplx.Exp(-complex(p[1], 0)*s) * s * (s + complex(p[2], 0)) /
			((s + complex(p[3], 0)) * (s*s + complex(2*p[5], 0)*w*s + w*w))
	}
	names := []string{"gain_per_s2", "delay_s", "zero_per_s", "root_per_s", "frequency_rad_s", "damping_ratio"}
	logs := []bool{true, false, false, false, true, false}
	pair := form{name: "attitude with one real root and one oscillatory pair, with delay", delay: 1, follow: -1,
		names: names, logs: logs, rate: hover}
	disc := form{name: "attitude with one real root and one oscillatory pair, with delay and disc lag", delay: 1, follow: 6,
		names: append(append([]string{}, names...), "disc_following_time_s"), logs: append(append([]bool{}, logs...), true),
		rate: func(p []float64, s complex128) complex128 {
			return hover(p, s) / (complex(math.Exp(p[6]), 0)*s + 1)
		}}
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
