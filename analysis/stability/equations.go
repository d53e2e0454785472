package stability

import (
	"errors"
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// regressor is a signal that enters the derivative of e by the parameters from at on, the
// first one step back, the next two, and so on.
type regressor struct {
	x        []float64
	at, lags int
}

// normalSum gathers the normal equations of a least squares fit: the lower triangle of the
// left side, row by row, and the right side.
type normalSum struct {
	size  int
	left  []float64
	right []float64
}

func newNormal(size int) *normalSum {
	return &normalSum{size, make([]float64, size*size), make([]float64, size)}
}

// add takes one equation.
func (n *normalSum) add(row []float64, y float64) {
	for i, v := range row {
		n.right[i] += v * y
		r := n.left[i*n.size : i*n.size+i+1]
		for j := range r {
			r[j] += v * row[j]
		}
	}
}

// addShifted takes the equations for e from the sample from on. Products of two signals one
// step further back both are those before, less the last, with one more in front, so that
// only one lag of each pair has to be summed.
func (n *normalSum) addShifted(signals []regressor, e []float64, from int) {
	length := len(e) - from
	back := func(s regressor, lag int) []float64 { return s.x[from-1-lag:][:length] }
	for k, s := range signals {
		for i := range s.lags {
			n.right[s.at+i] += floats.Dot(back(s, i), e[from:])
		}
		for _, r := range signals[:k+1] {
			g := make([]float64, s.lags*r.lags)
			for i := range s.lags {
				for j := range r.lags {
					if i == 0 || j == 0 {
						g[i*r.lags+j] = floats.Dot(back(s, i), back(r, j))
						continue
					}
					first, last := from-1, len(e)-1
					g[i*r.lags+j] = g[(i-1)*r.lags+j-1] + s.x[first-i]*r.x[first-j] - s.x[last-i]*r.x[last-j]
				}
			}
			for i := range s.lags {
				for j := range r.lags {
					if s.at+i >= r.at+j {
						n.left[(s.at+i)*n.size+r.at+j] += g[i*r.lags+j]
					}
				}
			}
		}
	}
}

// through returns the equations for parameters alpha in place of the first ones a, which
// follow from them.
func (n *normalSum) through(dadp [][]float64) (*mat.SymDense, []float64) {
	k, order := len(dadp), len(dadp[0])
	size := n.size - order + k
	t := mat.NewDense(size, n.size, nil)
	for i, d := range dadp {
		for j, v := range d {
			t.Set(i, j, v)
		}
	}
	for i := k; i < size; i++ {
		t.Set(i, order+i-k, 1)
	}
	var half, full mat.Dense
	half.Mul(t, n.matrix())
	full.Mul(&half, t.T())
	info := mat.NewSymDense(size, nil)
	for i := range size {
		for j := range i + 1 {
			info.SetSym(i, j, full.At(i, j))
		}
	}
	var g mat.VecDense
	g.MulVec(t, mat.NewVecDense(n.size, n.right))
	return info, g.RawVector().Data
}

func (n *normalSum) matrix() *mat.SymDense {
	s := mat.NewSymDense(n.size, nil)
	for i := range n.size {
		for j := range i + 1 {
			s.SetSym(i, j, n.left[i*n.size+j])
		}
	}
	return s
}

var errNotTold = errors.New("stability: the record does not tell the model")

// solveScaled solves info x = g with rows and columns of like size and ridge added to its
// unit diagonal.
func solveScaled(info *mat.SymDense, g []float64, ridge float64) ([]float64, error) {
	ch, scale, err := scaledCholesky(info, ridge)
	if err != nil {
		return nil, err
	}
	d := mat.NewVecDense(len(g), nil)
	for i := range g {
		d.SetVec(i, g[i]/scale[i])
	}
	if err := ch.SolveVecTo(d, d); err != nil {
		if _, soft := err.(mat.Condition); !soft {
			return nil, errNotTold
		}
	}
	out := make([]float64, len(g))
	for i := range out {
		out[i] = d.AtVec(i) / scale[i]
	}
	return out, nil
}

func scaledCholesky(info *mat.SymDense, ridge float64) (*mat.Cholesky, []float64, error) {
	n := info.SymmetricDim()
	scale := make([]float64, n)
	for i := range scale {
		scale[i] = math.Sqrt(info.At(i, i))
		if !(scale[i] > 0) {
			return nil, nil, errNotTold
		}
	}
	s := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i + 1 {
			s.SetSym(i, j, info.At(i, j)/scale[i]/scale[j])
		}
		s.SetSym(i, i, s.At(i, i)+ridge)
	}
	var c mat.Cholesky
	if !c.Factorize(s) {
		return nil, nil, errNotTold
	}
	return &c, scale, nil
}
