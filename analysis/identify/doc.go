// Package identify fits the rotor model to flown hops: stick gains, following times of disc
// and bar, mixing, flap-back with speed, stiffness of both axes, dead time and phasing, each
// with a 95 % interval or named as what these hops do not tell. With the fitted numbers it
// predicts the next change.
//
// # What is fitted to
//
// Of each hop the answers of roll and pitch to their own sticks as functions of frequency,
// weighted by their errors; the answers to gusts in bands with the stick held, where wind
// was measured; and the phasing error. Neighbouring points of a response share their errors:
// each counts as the part of an independent one that it is.
//
// # Several hops
//
// Each hop is fitted by itself. What differs from hop to hop (fuel, density, the pilot's
// hand) is then seen in their scatter: the mean over hops is weighted, its variance is that
// of the hops' own errors times q, and its interval that of Student's t with n degrees of
// freedom for n hops. q is one or what the scatter about the mean says, drawn towards one with
// the weight of one hop: the scatter of two hops alone says next to nothing. From three hops
// on the scatter alone counts too where it makes the interval wider. Of one hop the
// interval is the hop's own, and a note says what it leaves out.
//
// # What is not told
//
// All unknown numbers are free in the fit; none is held by the dimensions, so that no number
// looks measured which is only written in aircraft.toml. A number whose interval spans more
// than a factor of ten, or which moves nothing that was measured, is named and not printed.
// For a prediction, and for that only, such numbers are then held at the dimensions, and what
// rests on them is withheld.
//
// Cyclic throw and mixing act as products, moments of inertia only with mass and hub height,
// and the Lock number hides density, chord and flap inertia: no hop tells their factors.
//
// # Prediction of a change
//
// A change goes through the dimensions as a ratio to the fitted number: a bar that the
// dimensions make 1.5 times slower is taken 1.5 times slower than flown.
package identify
