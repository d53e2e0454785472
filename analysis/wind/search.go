package wind

import (
	"math"
	"math/cmplx"

	"github.com/sourcegraph/conc"
	"gonum.org/v1/gonum/mat"
)

// Air carries gusts from anemometer to aircraft, or back, with the mean wind. Clocks are
// aligned already: what is looked for is how long the air takes, up to some tens of metres
// of light wind; half as far downwind, where nobody should put a mast.
const (
	earliestS, latestS, coarseS, fineS = -9.6, 20.0, 0.8, 0.1
	fineOrder                          = 5
	// apartLeadS is how far from the best another lead counts as another place of the
	// anemometer: nearer by, gusts are still alike.
	apartLeadS = 2.0
	// leastClear is by how much the logarithm of the likelihood of the best lead must
	// exceed that of any other place.
	leastClear = 20.0
)

// carriedS finds the lead of the anemometer with which gusts and sticks leave the least of
// the motion of both axes, sticks staying where they are; negative if the aircraft felt the
// gusts first. ok is false where no lead is clearly better than others: then the logged
// gusts are not known to be those that moved the aircraft.
//
// The logarithm of the likelihood is -n/2 log(sum of squares left) per axis. All leads are
// weighted with one denominator, so that their sums of squares compare.
func (a answers) carriedS(sheets []sheet, sums []products) (leadS float64, ok bool) {
	fits, ok := a.fitsAt(sheets, sums, 0, lowestOrder)
	if !ok {
		return 0, false
	}
	n := int(math.Round((latestS-earliestS)/coarseS)) + 1
	coarse := profile(fits, sheets, sums, earliestS, coarseS, n)
	best := lowest(coarse)
	if best == 0 || best == n-1 {
		return 0, false
	}
	apart := int(math.Ceil(apartLeadS / coarseS))
	for i, v := range coarse {
		if max(i-best, best-i) > apart && v < coarse[best]+leastClear {
			return 0, false
		}
	}
	leadS = earliestS + coarseS*float64(best)
	const about, tries = 9, 1
	for range tries {
		if fits, ok = a.fitsAt(sheets, sums, leadS, fineOrder); !ok {
			return 0, false
		}
		fine := profile(fits, sheets, sums, leadS-about*fineS, fineS, 2*about+1)
		leadS += fineS * float64(lowest(fine)-about)
	}
	return math.Round(leadS/a.g.stepS) * a.g.stepS, true
}

// fitsAt fits both axes with the gusts moved later by leadS.
func (a answers) fitsAt(sheets []sheet, sums []products, leadS float64, order int) (fits [2]*fraction, ok bool) {
	const passes = 4
	var fine [2]bool
	var wait conc.WaitGroup
	for i, out := range [2]int{pitchOut, rollOut} {
		wait.Go(func() {
			moved := make([]products, len(sheets))
			turned := make([]sheet, len(sheets))
			for k, sh := range sheets {
				m := newMovable(sums[k], sh, out, order, leadS, 0)
				moved[k], turned[k] = m.products, m.turned()
			}
			fits[i], fine[i] = solve(turned, moved, out, heldInputs(), order, passes)
		})
	}
	wait.Wait()
	return fits, fine[0] && fine[1]
}

func lowest(x []float64) int {
	best := 0
	for i, v := range x {
		if v < x[best] {
			best = i
		}
	}
	return best
}

// profile returns less the logarithm of the likelihood at n leads.
func profile(fits [2]*fraction, sheets []sheet, sums []products, fromS, stepS float64, n int) []float64 {
	var each [2][]float64
	var wait conc.WaitGroup
	for i, fit := range fits {
		wait.Go(func() {
			f := &fraction{order: fit.order, inputs: fit.inputs, out: fit.out, n: fit.n}
			var weights [][][]float64
			for _, sh := range sheets {
				weights = append(weights, f.weights(sh, fit.p[:fit.order]))
			}
			moves := make([]*movable, len(sheets))
			for k, sh := range sheets {
				moves[k] = newMovable(sums[k], sh, f.out, f.order, fromS, stepS)
			}
			for range n {
				each[i] = append(each[i], float64(f.n)/2*math.Log(f.share(moves, weights)))
				for _, m := range moves {
					m.turn(m.by)
				}
			}
		})
	}
	wait.Wait()
	for j, v := range each[1] {
		each[0][j] += v
	}
	return each[0]
}

// share returns the share of the weighted motion that the best coefficients leave, one if
// there are none.
func (f *fraction) share(moves []*movable, weights [][][]float64) float64 {
	_, all := f.columns(len(moves))
	normal := mat.NewSymDense(all, nil)
	right := mat.NewVecDense(all, nil)
	total := 0.0
	for k, m := range moves {
		f.normalWith(m.known, normal, right, m.products, k, weights[k])
		for i, v := range m.re[m.pair(f.out, f.out)] {
			total += v * weights[k][2*f.order][i]
		}
	}
	equilibrate(normal, right)
	var chol mat.Cholesky
	var sol mat.VecDense
	if !chol.Factorize(normal) || chol.SolveVecTo(&sol, right) != nil {
		return 1
	}
	if left := 1 - mat.Dot(&sol, right)/total; left > 0 {
		return left
	}
	return 1
}

// movable is the products of one sheet with the gusts moved later, as far as one output needs
// them. What leaves one end of the record comes in at the other, and the nose turns the gusts
// where they were: enough to find the lead, not to solve with it.
type movable struct {
	sheet
	products
	out   int
	gusts [2][]complex128 // what moves of them
	now   [2][]complex128 // gusts and mean
	by    []complex128    // one step
	known powerSums
}

func newMovable(p products, sh sheet, out, order int, fromS, stepS float64) *movable {
	m := &movable{sheet: sh, out: out, known: newPowerSums(order)}
	m.products = products{append([][]float64{}, p.re...), append([][]float64{}, p.im...)}
	first := make([]complex128, len(sh.omega))
	m.by = make([]complex128, len(sh.omega))
	for i, w := range sh.omega {
		first[i], m.by[i] = cmplx.Rect(1, -w*fromS), cmplx.Rect(1, -w*stepS)
	}
	for j, in := range [2]int{headGust, crossGust} {
		m.gusts[j] = append([]complex128{}, sh.x[in]...)
		for i, v := range sh.mean[j] {
			m.gusts[j][i] -= v
		}
		m.now[j] = make([]complex128, len(sh.omega))
	}
	for _, place := range m.places() {
		m.re[place], m.im[place] = make([]float64, len(first)), make([]float64, len(first))
	}
	m.turn(first)
	return m
}

// others returns the channels beside the gusts that the output needs.
func (m *movable) others() [4]int { return [4]int{lonStick, latStick, m.out, answerChannels} }

// places returns those of the products that change.
func (m *movable) places() []int {
	out := []int{m.pair(headGust, headGust), m.pair(headGust, crossGust), m.pair(crossGust, crossGust)}
	for _, g := range [2]int{headGust, crossGust} {
		for _, other := range m.others() {
			out = append(out, m.pair(min(g, other), max(g, other)))
		}
	}
	return out
}

// turn moves the gusts on.
func (m *movable) turn(by []complex128) {
	now := m.now
	for j, g := range m.gusts {
		for i, t := range by {
			g[i] *= t
			now[j][i] = g[i] + m.mean[j][i]
		}
	}
	for j, in := range [2]int{headGust, crossGust} {
		for _, other := range m.others() {
			if other == answerChannels {
				m.constant(in, now[j])
			} else if in < other {
				m.set(in, other, now[j], m.x[other])
			} else {
				m.set(other, in, m.x[other], now[j])
			}
		}
		m.set(in, in, now[j], now[j])
	}
	m.set(headGust, crossGust, now[0], now[1])
	for _, place := range m.places() {
		m.known.forget(place)
	}
}

// turned returns the sheet with the gusts where they are now.
func (m *movable) turned() sheet {
	sh := m.sheet
	sh.x = append([][]complex128{}, m.x...)
	for j, in := range [2]int{headGust, crossGust} {
		x := make([]complex128, len(sh.omega))
		for i, v := range m.gusts[j] {
			x[i] = v + m.mean[j][i]
		}
		sh.x[in] = x
	}
	return sh
}

// set writes the products conj(a) b of the pair i, j.
func (m *movable) set(i, j int, a, b []complex128) {
	re, im := m.re[m.pair(i, j)], m.im[m.pair(i, j)]
	for k, x := range a {
		y := b[k]
		re[k] = real(x)*real(y) + imag(x)*imag(y)
		im[k] = real(x)*imag(y) - imag(x)*real(y)
	}
}

// constant writes the products of channel i with one.
func (m *movable) constant(i int, a []complex128) {
	re, im := m.re[m.pair(i, answerChannels)], m.im[m.pair(i, answerChannels)]
	for k, x := range a {
		re[k], im[k] = real(x), -imag(x)
	}
}

// carriedBy returns a with the gusts moved later by leadS, without the ends of the record
// where they are not known.
func (a answers) carriedBy(leadS float64) answers {
	shift := int(math.Round(leadS / a.g.stepS))
	n := max(0, a.g.n-max(shift, -shift))
	if shift == 0 || n == 0 {
		return a
	}
	a.ready, a.readySums = nil, nil
	a.flow = a.flow.later(shift, n)
	for i, x := range a.x {
		a.x[i] = x[max(shift, 0):][:n]
	}
	a.turnGusts()
	a.g.fromS += float64(max(shift, 0)) * a.g.stepS
	a.g.n = n
	return a
}
