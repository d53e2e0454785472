package importers

import (
	"fmt"
	"math"

	"hopcard/flight"
)

// answerChecks looks whether what the answer to the stick is worked out from is written
// finely and often enough for it.
func (f *logFile) answerChecks() {
	for _, c := range f.columns {
		if !c.derived && c.withheld == "" {
			f.coarse(c)
			f.aliased(c)
		}
	}
}

// coarsest is the largest step in SI that a quantity may be written in: a tenth of what a
// gentle test input moves it by (this project's own choice); 0 for quantities that no
// answer is worked out from.
func coarsest(q flight.Quantity) float64 {
	switch q {
	case flight.LatStick, flight.LonStick, flight.Pedal:
		return 0.02
	case flight.Roll, flight.Pitch:
		return 0.3 * math.Pi / 180
	case flight.RollRate, flight.PitchRate:
		return 1 * math.Pi / 180
	}
	return 0
}

func (f *logFile) coarse(c *column) {
	step, most := c.figures.step*math.Abs(c.scale), coarsest(c.quantity)
	if most == 0 || step <= most {
		return
	}
	unit, k := c.quantity.ShownUnit()
	f.add(flight.CodeCoarse, flight.Caution, c.header, flight.Span{},
		fmt.Sprintf("%q (%s) is written in steps of %.2g %s; answers smaller than some steps are not seen, and noise of %.2g %s is added to all",
			c.header, c.quantity, step*k, unit, step*k/math.Sqrt(12), unit),
		"let the logger write more digits, or use a finer sensor")
}

// aliased suspects a channel whose energy does not fade towards half the sampling rate:
// what is faster than that is folded into what is seen. Second differences weigh the
// upper end of the band: those of white noise have six times its variance, those of a
// motion sampled finely enough nearly none.
func (f *logFile) aliased(c *column) {
	var least float64 // standard deviation in SI that counts as motion
	switch c.quantity {
	case flight.Roll, flight.Pitch:
		least = 1 * math.Pi / 180
	case flight.RollRate, flight.PitchRate, flight.YawRate:
		least = 1.5 * math.Pi / 180
	default:
		return
	}
	sd := c.figures.sd * math.Abs(c.scale)
	share := c.noiseVariance() / (sd * sd)
	if c.figures.n < 500 || sd < least || f.stepS <= 0 || !(share > 0.2) || 2*c.figures.repeats > c.figures.n {
		return
	}
	f.add(flight.CodeAliased, flight.Caution, c.header, flight.Span{},
		fmt.Sprintf("%q (%s) has as much energy near half its %.0f rows a second as elsewhere: vibration or motion faster than %.1f Hz may be folded into it",
			c.header, c.quantity, 1/f.stepS, 0.5/f.stepS),
		"log faster, or set a low-pass filter in the sensor below half the sampling rate")
}
