// Package stability finds the seconds in which a flight was unstable or beyond a limit,
// measures damping, and says how much control was left.
//
// # Growing oscillations
//
// The rate of an axis (the derivative of the attitude where no rate was logged), on an
// even grid of 25 Hz, is passed between 1 and 12 rad/s without phase shift and cut into
// swings, from one crossing of zero to the next. Four to eight swings, two to four
// periods, of steady length whose peaks rise steadily are a growth if the 95 % interval
// of the slope of log peak over time lies above zero, no single step makes most of it, and
// its end stands well above the usual swing of the flight. Swings within a test input are
// left out: they answer it. The start is where, going back within half an octave of its
// frequency, swings leave the line; it is known to about one swing, the end to less.
//
// The kind comes from stick and attitude fitted with the same growing tone: airframe if
// the stick stayed still or did not follow, pilot-coupled if it follows and the attitude
// is behind it by 75 deg or more. An attitude that follows the stick more closely is
// driven by it and is not flagged. Where no stick was logged, or it cannot be timed against
// the attitude, the growth is unattributed.
//
// # Modes and damping
//
// Stretches of still stick are fitted with one or two oscillations about a constant, with
// or without an exponential: poles of the matrix pencil (Hua and Sarkar 1990), moved to the
// least squares optimum, the form by the criterion of Schwarz (1978), intervals from the
// Jacobian, widened for residuals that are not white. What holds less than a period and a
// quarter, or is too wide to say anything, is not given. Gusts drive the aircraft while the
// stick is still; they widen the interval and can move the answer.
//
// Damping along the flight is the apparent one, from the six swings about each second,
// whoever causes them.
//
// # What is not here
//
// Margins of the loop of pilot and aircraft are not measured: stick and attitude of a
// regulating pilot alone show the pilot's inverse rather than the aircraft.
package stability
