// Package loop measures the pilot of a hop and the margins of the loop he closes with the
// aircraft.
//
// # What the loop is
//
// H is the aircraft's attitude per stick, measured by package response with the other stick
// held. Y is the pilot's stick per attitude with the sign turned round, so that the loop
//
//	L = Y H
//
// is one of negative feedback: positive real where a push of the stick comes back as a push
// the other way, unstable where it goes round -1. It is the loop cut at the stick of one
// axis: all that the pilot does about attitude and its rate, and what he does about drift
// as far as drift follows attitude, which it does but for the push of gusts on the
// fuselage. The phase margin is 180 deg plus the phase of L where |L| is 1, the gain margin
// 1/|L| where L is negative and real.
//
// # How it is measured
//
// Stick and attitude are brought to an even grid; a predictor of the stick from its own past
// and that of the attitude, right in the closed loop (predictor), gives Y over frequency; a
// form of gain, lead, drift and delay (form) is fitted to it with its full covariance. The
// logged gust, as instrument, confirms the form or widens its errors (instrument). Where none
// does, enough of the attitude must come from elsewhere than the stick (outside): in still air
// the pilot is withheld, since there stick and attitude do not tell him from the inverse of
// the aircraft. Y from the form and H as measured make L; margins get their intervals from
// samples of both.
//
// Frequencies are in rad/s, gains of Y in fractions of full stick travel per rad.
package loop
