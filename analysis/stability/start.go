package stability

import "math"

// longOrder is the order of the model without C that starts the others.
const longOrder = 12

// longModel fits a long model without C, whose residuals stand for e in start.
func longModel(data []stretch) (*armax, error) {
	m := newArmax(anyForm(longOrder), longOrder, len(data[0].u), 0)
	m.c = nil
	m.set(make([]float64, longOrder))
	info, g, _, _ := m.normal(data)
	step, err := solveScaled(info, g, 1e-10)
	if err != nil {
		return nil, err
	}
	m, _ = m.moved(step)
	n, cost := 0, m.cost(data)
	for _, s := range data {
		n += len(s.y) - m.lags()
	}
	m.schwarz = float64(n)*math.Log(cost/float64(n)) + float64(m.size())*math.Log(float64(n))
	return m, nil
}

// errors returns e of all stretches.
func (m *armax) errors(data []stretch) [][]float64 {
	var out [][]float64
	for _, s := range data {
		_, e := m.residuals(s)
		out = append(out, e)
	}
	return out
}

// start sets all parameters of a model of any form by one linear fit, e standing in for the
// true one (Hannan and Rissanen, Biometrika 69, 1982).
func (m *armax) start(data []stretch, e [][]float64) error {
	n := m.form.order()
	m.set(make([]float64, n))
	size := m.size()
	sum := newNormal(size)
	row := make([]float64, size)
	for k, s := range data {
		for t := 2 * longOrder; t < len(s.y); t++ {
			at := 0
			for i := range n {
				row[at] = -s.y[t-1-i]
				at++
			}
			for i, b := range m.b {
				for j := range b {
					row[at] = s.u[i][t-1-j]
					at++
				}
			}
			for i := range m.c {
				row[at] = e[k][t-1-i]
				at++
			}
			row[size-1] = 1
			sum.add(row, s.y[t])
		}
	}
	p, err := solveScaled(sum.matrix(), sum.right, 1e-12)
	if err != nil {
		return err
	}
	m.set(p[:n])
	at := n
	for i := range m.b {
		at += copy(m.b[i], p[at:])
	}
	copy(m.c, p[at:])
	m.k = p[size-1]
	for !stable(m.c) { // drawn towards the origin until it is
		f := 0.95
		for i := range m.c {
			m.c[i] *= f
			f *= 0.95
		}
	}
	return nil
}
