package importers

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/dsp/fourier"

	"hopcard/flight"
)

// Two loggers that record the same quantity can be put on one clock by it: the shift at
// which the two records are most alike. Only like is compared with like, never a stick
// with what answers it, for the time between those is what hopcard is to measure.

const (
	sharedStepS = 0.02 // step of the common grid
	sharedLag   = 10   // steps over which changes are taken
	// sharedLeast is the correlation that counts as the same motion; sharedRival is the
	// share of it that the next best shift may reach.
	sharedLeast = 0.7
	sharedRival = 0.75
	// sharedFloorS is the part of the offset's error that the fit cannot see: sensors that
	// filter differently. This project's own allowance.
	sharedFloorS = 3e-3
	// sharedWindows is into how many windows the common time is cut to see the drift.
	sharedWindows = 16
)

// alignShared ties f to the leading log by a channel that both record. It reports
// whether it could.
func (f *logFile) alignShared(l *logFile) bool {
	for _, q := range []flight.Quantity{
		flight.RollRate, flight.PitchRate, flight.YawRate, flight.Roll, flight.Pitch,
		flight.AccelZ, flight.AccelX, flight.AccelY, flight.RotorSpeed, flight.Height,
		flight.LatStick, flight.LonStick, flight.Pedal, flight.Collective,
	} {
		a, b := l.find(q), f.find(q)
		if a == nil || b == nil {
			continue
		}
		x, y := l.evenly(a), f.evenly(b)
		shift, sense, ok := bestShift(x, y)
		if !ok {
			continue
		}
		taps := localShifts(x, y, shift, sense)
		for i := range taps { // from the grids' own times to stamps
			taps[i].atS += l.stamps[0]
			taps[i].diffS += f.stamps[0] - l.stamps[0]
		}
		if len(taps) < 4 {
			continue
		}
		c, ok := fitClock(taps, l.stamps[0], l.stamps[len(l.stamps)-1], sharedStepS)
		if !ok {
			continue
		}
		c.AlignedBy = flight.AlignShared
		c.Offset.Low, c.Offset.High = c.Offset.Low-sharedFloorS, c.Offset.High+sharedFloorS
		c.IntervalS += sharedFloorS
		f.clock = c
		f.add(flight.CodeUnitGuessed, flight.Note, b.header, flight.Span{},
			fmt.Sprintf("the clocks are tied by the %s that both logs record, in %d windows, rms %.1f ms apart", q, len(taps), 1000*c.ResidualS),
			"log UTC on both, or tap the airframe sharply three times before and after the flight, to check this")
		return true
	}
	return false
}

// evenly returns the changes of a column over sharedLag steps of an even grid that starts
// with the log: slow trends, in which every shift looks alike, do not count, and noise
// does not drown what is left. Gaps are 0.
func (f *logFile) evenly(c *column) []float64 {
	n := int((f.stamps[len(f.stamps)-1] - f.stamps[0]) / sharedStepS)
	out := make([]float64, max(0, n))
	s := sampler{f: &logFile{stamps: f.stamps, stepS: f.stepS}, col: c}
	var last [sharedLag]float64
	for i := range out {
		v := s.at(f.stamps[0] + float64(i)*sharedStepS)
		out[i] = v - last[i%sharedLag]
		if out[i] != out[i] || i < sharedLag {
			out[i] = 0
		}
		last[i%sharedLag] = v
	}
	return out
}

// bestShift returns by how many steps y comes after x where they are most alike, and +1
// or -1 for the sense. ok is false where that is not clearly one shift.
func bestShift(x, y []float64) (shift int, sense float64, ok bool) {
	if len(x) < 500 || len(y) < 500 {
		return 0, 0, false
	}
	n := 1
	for n < len(x)+len(y) {
		n *= 2
	}
	fft := fourier.NewFFT(n)
	spectrum := func(v []float64) []complex128 {
		padded := make([]float64, n)
		copy(padded, v)
		return fft.Coefficients(nil, padded)
	}
	sx, sy := spectrum(x), spectrum(y)
	for k := range sy {
		sy[k] *= complex(real(sx[k]), -imag(sx[k]))
	}
	cross := fft.Sequence(nil, sy)
	ex, ey := runningEnergy(x), runningEnergy(y)
	rho := func(lag int) float64 { // y[i+lag] beside x[i]
		from, to := max(0, -lag), min(len(x), len(y)-lag)
		if to-from < 500 {
			return 0
		}
		e := (ex[to] - ex[from]) * (ey[to+lag] - ey[from+lag])
		// What is compared must be a good part of what there is, or two rests look alike.
		if e < 0.04*ex[len(x)]*ey[len(y)] {
			return 0
		}
		return cross[(lag+n)%n] / float64(n) / math.Sqrt(e)
	}
	best, rival := 0.0, 0.0
	for lag := -len(x) + 1; lag < len(y); lag++ {
		if r := rho(lag); math.Abs(r) > math.Abs(best) {
			best, shift = r, lag
		}
	}
	const apart = 1.5 / sharedStepS
	for lag := -len(x) + 1; lag < len(y); lag++ {
		if math.Abs(float64(lag-shift)) > apart {
			rival = math.Max(rival, math.Abs(rho(lag)))
		}
	}
	return shift, math.Copysign(1, best), math.Abs(best) > sharedLeast && rival < sharedRival*math.Abs(best)
}

// runningEnergy returns the sums of squares before each place.
func runningEnergy(v []float64) []float64 {
	e := make([]float64, len(v)+1)
	for i, x := range v {
		e[i+1] = e[i] + x*x
	}
	return e
}

// localShifts measures the shift in windows along the common time, to a fraction of a
// step by a parabola through the three best (Jacovitti and Scarano 1993, "Discrete time
// techniques for time delay estimation", from memory).
func localShifts(x, y []float64, shift int, sense float64) []tap {
	const reach = 10 // steps to either side
	from, to := max(reach, reach-shift), min(len(x)-reach, len(y)-shift-reach)
	length := (to - from) / sharedWindows
	if length < 100 {
		return nil
	}
	whole := runningEnergy(x)
	least := 0.1 * (whole[to] - whole[from]) / sharedWindows
	var taps []tap
	for w := range sharedWindows {
		i0 := from + w*length
		var r [2*reach + 1]float64
		top := reach
		for k := range r {
			r[k] = sense * likeness(x[i0:i0+length], y[i0+shift+k-reach:i0+shift+k-reach+length])
			if r[k] > r[top] {
				top = k
			}
		}
		if whole[i0+length]-whole[i0] < least || r[top] < sharedLeast || top == 0 || top == 2*reach {
			continue
		}
		a, b, c := r[top-1], r[top], r[top+1]
		fine := 0.5 * (a - c) / (a - 2*b + c)
		// The spread of a correlation peak of width 1/curvature with noise of 1 - rho2.
		bent := (2*b - a - c) / (sharedStepS * sharedStepS)
		taps = append(taps, tap{
			atS:   (float64(i0) + float64(length)/2) * sharedStepS,
			diffS: (float64(shift+top-reach) + fine) * sharedStepS,
			seS:   math.Sqrt(math.Max(0, 1-b*b) / (bent * float64(length)) * 2),
		})
	}
	return taps
}

// likeness returns the correlation of two records about zero.
func likeness(x, y []float64) float64 {
	var xx, yy, xy float64
	for i, a := range x {
		xx, yy, xy = xx+a*a, yy+y[i]*y[i], xy+a*y[i]
	}
	if xx == 0 || yy == 0 {
		return 0
	}
	return xy / math.Sqrt(xx*yy)
}
