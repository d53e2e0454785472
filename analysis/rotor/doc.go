// Package rotor models a light helicopter in the hover from its rotor head: blades,
// hinge, stabiliser bar, body. It turns dimensions into phase lag, following times,
// modes of motion and responses to stick and gust.
//
// # What is modelled
//
// Tip-path plane and bar in the hover, small angles, uniform inflow, rigid blades, thrust
// equal to weight. The disc follows what it is told with a first-order lag (Bramwell,
// Helicopter Dynamics, 1976, ch. 7, from memory), so does the bar. Nothing here is valid
// in forward flight, near the ground's edge effects, or beyond small angles.
//
// # Symbols
//
//	gamma     Lock number, rho a c R^4 / I_b
//	Omega     rotor speed, rad/s
//	nu        flap frequency, per revolution
//	a, b      disc tilt aft and to the right, relative to the mast, rad
//	ab, bb    the same of the bar
//	q, p      pitch and roll rate, rad/s; theta, phi pitch and roll, rad
//	u, v      ground speed forward and to the right, m/s
//	w, c      wind from ahead and wind from the right, m/s
//
// Sticks are fractions of full travel, aft and right positive; a Response is in SI output
// per fraction of travel (or per m/s of wind). Axes and signs are those of package flight.
package rotor
