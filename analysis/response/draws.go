package response

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
)

// draws makes samples of a curve with its random errors, by which intervals are found.
//
// Where the response is a predictor's, its errors are those of the predictor's parameters, and
// hang together over frequency as the parameters make them. What the curve's errors hold
// beyond that, and all of them where there is no predictor, is drawn point by point, with
// neighbours correlated as far as the window's bandwidth reaches: for a Hann window
// estimates one bin apart share 4/9 of their variance, that is exp(-1.22) over 1.5 times
// less than one noise bandwidth.
type draws struct {
	c      curve
	omega  []float64
	rho    []float64
	own    []float64 // standard deviation of what is drawn point by point
	rng    *rand.Rand
	clockS float64
	// errors holds one row per sample, log gain and phase for every node; row is the next.
	errors blas64.General
	nodes  []int
	row    int
	gain   []float64
	phase  []float64
}

// nodeEvery is how many points share one drawing of the predictor's errors, with straight
// lines between: they vary more slowly with frequency than the grid is fine.
const nodeEvery = 2

func newDraws(c curve, p *predictor, s Settings, clockS float64) *draws {
	n := len(c.phase)
	d := &draws{c: c, omega: make([]float64, n), rho: make([]float64, n), own: append([]float64{}, c.sd...),
		rng: rand.New(rand.NewPCG(s.Seed, 33)), clockS: clockS / 1.96, gain: make([]float64, n), phase: make([]float64, n)}
	for k := range n {
		d.omega[k] = math.Exp(c.lnOmega[k])
		if k > 0 {
			d.rho[k] = math.Exp(-1.22 * (d.omega[k] - d.omega[k-1]) / c.bandRadS[k])
		}
	}
	if p != nil {
		d.drawErrors(p, s.Draws)
	}
	return d
}

// drawErrors draws the predictor's errors of all samples at once.
func (d *draws) drawErrors(p *predictor, samples int) {
	var ws []float64
	for k := 0; k < len(d.omega); k += nodeEvery {
		d.nodes = append(d.nodes, k)
	}
	if last := len(d.omega) - 1; d.nodes[len(d.nodes)-1] != last {
		d.nodes = append(d.nodes, last)
	}
	for _, k := range d.nodes {
		ws = append(ws, d.omega[k])
	}
	m := p.whitened(ws, 0)
	z := blas64.General{Rows: samples, Cols: m.Rows, Stride: m.Rows, Data: make([]float64, samples*m.Rows)}
	for i := range z.Data {
		z.Data[i] = d.rng.NormFloat64()
	}
	d.errors = blas64.General{Rows: samples, Cols: m.Cols, Stride: m.Cols, Data: make([]float64, samples*m.Cols)}
	blas64.Gemm(blas.NoTrans, blas.NoTrans, 1, z, m, 0, d.errors)
	sds := p.sdsOf(m)
	for i, k := range d.nodes {
		for j := k; j < len(d.own) && (i == len(d.nodes)-1 || j < d.nodes[i+1]); j++ {
			d.own[j] = math.Sqrt(max(0, d.own[j]*d.own[j]-sds[i]*sds[i]))
			if d.own[j] < 0.1*sds[i] { // the sd between the nodes is interpolated too
				d.own[j] = 0
			}
		}
	}
}

// next returns log gain and phase of one more sample; the slices are reused.
func (d *draws) next() (lnGain, phase []float64) {
	var g, p float64
	shift := d.clockS * d.rng.NormFloat64()
	for k, rho := range d.rho {
		d.gain[k], d.phase[k] = d.c.lnGain[k], d.c.phase[k]-shift*d.omega[k]
		if d.own[k] == 0 && d.nodes != nil {
			continue
		}
		fresh := math.Sqrt(1 - rho*rho)
		g = rho*g + fresh*d.rng.NormFloat64()
		p = rho*p + fresh*d.rng.NormFloat64()
		d.gain[k] += d.own[k] * g
		d.phase[k] += d.own[k] * p
	}
	d.addErrors()
	return d.gain, d.phase
}

// addErrors adds the predictor's errors of the next sample.
func (d *draws) addErrors() {
	if d.nodes == nil {
		return
	}
	e := d.errors.Data[d.row*d.errors.Stride:]
	d.row++
	for i := range d.nodes[1:] {
		lo, hi := d.nodes[i], d.nodes[i+1]
		for k := lo; k < hi; k++ {
			f := float64(k-lo) / float64(hi-lo)
			d.gain[k] += (1-f)*e[2*i] + f*e[2*i+2]
			d.phase[k] += (1-f)*e[2*i+1] + f*e[2*i+3]
		}
	}
	last := len(d.nodes) - 1
	d.gain[d.nodes[last]] += e[2*last]
	d.phase[d.nodes[last]] += e[2*last+1]
}
