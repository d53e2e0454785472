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
// frequency, swings leave the line; with the stick still it is when the stick came to rest,
// under a pilot's hand when he began to hold on harder, if the two agree within a second. It
// is known to about half a swing, the end to less.
//
// The kind comes from stick and attitude fitted with the same growing tone: airframe if
// the stick stayed still or moved otherwise, pilot-coupled if it follows and the attitude is
// behind it by 75 deg or more. An attitude that follows the stick more closely is driven by
// it, and a small stick that goes with the motion sooner than a pilot can answer has set it
// off: neither is flagged. Where no stick was logged, or it cannot be timed against the
// attitude, or it goes with the motion only in part, the growth is unattributed.
//
// # Modes and damping
//
// Stretches of still stick are fitted with one or two oscillations about a constant, with
// or without an exponential: poles of the matrix pencil (Hua and Sarkar 1990), moved to the
// least squares optimum, the form by the criterion of Schwarz (1978), intervals from the
// Jacobian, widened for residuals that are not white. What holds less than a period and a
// quarter, or is too wide to say anything, is not given. Gusts drive the aircraft while the
// stick is still, and what they force on it in a few seconds looks like a mode of its own: a
// mode of still stick is given only if the model with the stick known, below, shows it too,
// or, where that gives none, if no wind was measured or it was calm.
//
// From the whole flight, stick moving, a model with known inputs (ARMAX, by Gauss-Newton from
// a start of Hannan and Rissanen) gives what the aircraft does by itself: stick, the other
// stick and the measured gusts along the axis, moved by the time they take from the
// anemometer, each if it explains more than chance. Attitude and inputs are means over
// 0.2 s; intervals from the information matrix, widened by what the next model makes of it.
// Rocking faster than 1.5 rad/s is taken from a model of free form, its order, 4 to 7, by
// Schwarz. The slow oscillation of the hover is hidden by gusts and the pilot's holding of
// his place; it is taken from the form that a hovering rotor without a bar has, if that
// explains the record as well as a free model, or the free model shows the same oscillation.
// The form knows beforehand that the disc follows in 0.06 +- 0.03 s and that drag takes
// about half a minute to stop the machine. Growth that is not the pilot's is left out of the
// record. What is too wide, or not in the next model too, is not given.
//
// Of 440 axes of simulated hops with and without a bar, in still to gusty air, 359 gave a
// mode: 357 within 0.06 of the true damping ratio, 95 % intervals holding it in 0.98 of the
// cases. Hovering in gusts alone, without a wind log, gives none without a bar.
//
// Damping along the flight is the apparent one, from the six swings about each second,
// whoever causes them.
//
// # Margins
//
// Margins of the loop of pilot and aircraft are measured in package loop.
package stability
