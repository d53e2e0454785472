package wind

import "math"

// Dryden is turbulence of the Dryden form: standard deviation and length scale of one
// component.
type Dryden struct {
	SDMS, LengthM float64
}

// LowAltitude returns the horizontal turbulence of MIL-F-8785C (1980), 3.7.3.4, at a
// height in metres, for a wind at 20 ft (6.1 m) in m/s. Height is clamped to the 10 to
// 1000 ft for which the formula, in feet, is given.
func LowAltitude(heightM, windAt20FtMS float64) Dryden {
	const foot = 0.3048
	h := math.Min(math.Max(heightM/foot, 10), 1000)
	k := 0.177 + 0.000823*h
	return Dryden{
		SDMS:    0.1 * windAt20FtMS / math.Pow(k, 0.4),
		LengthM: h / math.Pow(k, 1.2) * foot,
	}
}

// Along returns the one-sided density in (m/s)^2/Hz of the component along the wind at
// fHz, carried past at meanMS: 4 sd^2 tau/(1+x^2), tau = L/V, x = 2 pi f tau (the form of
// MIL-F-8785C, 3.7.1.2, brought from rad/m to Hz).
func (d Dryden) Along(fHz, meanMS float64) float64 {
	tau := d.LengthM / meanMS
	x := 2 * math.Pi * fHz * tau
	return 4 * d.SDMS * d.SDMS * tau / (1 + x*x)
}

// Across returns the same of the component across the wind:
// 2 sd^2 tau (1+3x^2)/(1+x^2)^2.
func (d Dryden) Across(fHz, meanMS float64) float64 {
	tau := d.LengthM / meanMS
	x := 2 * math.Pi * fHz * tau
	return 2 * d.SDMS * d.SDMS * tau * (1 + 3*x*x) / ((1 + x*x) * (1 + x*x))
}
