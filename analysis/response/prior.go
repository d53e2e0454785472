package response

import "math"

// priors are what is known of a light helicopter's head before it is measured: the form with a
// bar starts from it, because one axis alone does not fix it, and that of the bare head for the
// part of the speed, which lies below what short test inputs reach (see forms). Each is a value and
// a standard deviation, as the parameter is carried, and this project's own choice from what
// the machines are built like; the intervals hold what they leave open.
type priors struct {
	// rotorSpeedRadS is that of the hop, 0 if it is not known.
	rotorSpeedRadS float64
	// wider multiplies every standard deviation; 0 stands for 1.
	wider float64
}

// Two thirds of the Lock numbers of light blades are taken to lie between 3 and 8: weights in
// the tips for autorotation lower them, wide chords raise them. Their middle is the geometric
// mean. Where the rotor speed is not known it is taken as 55 rad/s, that of a tip speed of 180
// m/s at a radius of 3.3 m, two thirds between 40 and 75. The speed's part is ku g with ku from a
// flap-back of 1 deg at 10 m/s (Seddon and Newman, Basic Helicopter Aerodynamics, 8.3.1), and
// loose enough for an aircraft that does not answer its speed at all.
const (
	usualLock       = 4.9
	lockSD          = 0.5 // of the logarithm
	usualSpeedRadS  = 55
	unknownSpeedSD  = 0.3
	usualBarTimeS   = 0.6
	barTimeSD       = 0.8
	usualBarShare   = 0.5 // of the bar in the blades' pitch, by stick alone
	barShareSD      = 0.7
	usualFeedbackS  = 0.3 // following time times the share of its tilt that reaches the blades
	feedbackSD      = 0.8
	usualStiffPerS2 = 20 // m g h/I: 240 kg, 1.15 m under the hub, 135 kg m^2 in pitch
	stiffSD         = 1
	usualGain       = 0.15 // rad of blade pitch for full stick
	gainSD          = 1.5
	usualDelayS     = 0.1
	delaySD         = 0.3
	usualSpeedPerS2 = 0.02
	speedSD         = 0.03
	usualDampPerS   = 0.05 // drag of fuselage and disc
	speedDampPerSSD = 0.1
)

// disc is the prior of the logarithm of the disc's following time, 16/(lock number times rotor
// speed).
func (k priors) disc() [2]float64 {
	speed, sd := k.rotorSpeedRadS, lockSD
	if !(speed > 0) {
		speed, sd = usualSpeedRadS, math.Hypot(lockSD, unknownSpeedSD)
	}
	return k.about(math.Log(16/(usualLock*speed)), sd)
}

// mostDiscOff is how far a fitted following time of the disc may be from what is known before, in
// its standard deviations, for the fit to be that of a rotor: at 55 rad/s, from 13 to 270 ms.
// Where the test inputs are weak a bar passes for a disc of a third of a second.
const mostDiscOff = 3

// discOff is how far the disc's following time of a model without a prior is from what is known,
// in standard deviations of that.
func (k priors) discOff(m *fitted) float64 {
	if m.form.disc < 0 {
		return 0
	}
	known := priors{rotorSpeedRadS: k.rotorSpeedRadS}.disc()
	return math.Abs(m.p[m.form.disc]-known[0]) / known[1]
}

func (k priors) about(value, sd float64) [2]float64 {
	if k.wider > 0 {
		sd *= k.wider
	}
	return [2]float64{value, sd}
}

// unknown is the prior of n parameters of which nothing is known.
func unknown(n int) [][2]float64 {
	out := make([][2]float64, n)
	for i := range out {
		out[i][1] = math.Inf(1)
	}
	return out
}

func (k priors) head() [][2]float64 {
	return [][2]float64{k.about(math.Log(usualGain), gainSD), k.about(usualDelayS, delaySD), k.disc(),
		k.about(math.Log(usualStiffPerS2), stiffSD)}
}

func (k priors) speed() [][2]float64 {
	return [][2]float64{k.about(usualSpeedPerS2, speedSD), k.about(usualDampPerS, speedDampPerSSD)}
}

func (k priors) bar() [][2]float64 {
	return [][2]float64{k.about(math.Log(usualFeedbackS), feedbackSD), k.about(usualBarShare, barShareSD),
		k.about(math.Log(usualBarTimeS), barTimeSD)}
}
