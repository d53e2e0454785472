// Package response measures how the aircraft answers the stick: frequency response,
// delay and lag, bandwidth, and what one axis does to the other.
//
// # Conventions
//
// A response is output over input: attitude in rad, or rate in rad/s, per fraction of
// full stick travel. Phase is negative where the aircraft is behind the stick. The
// branch of the phase is fixed at 2 rad/s, in (-270, 90] deg, not at zero frequency:
// below the hover oscillation the phase of an unstable aircraft turns the other way.
//
// # Four times
//
// Correlation lag is the shift of the peak of stick against rate, of the response driven with
// the stick as flown; it depends on how the stick was moved, so that of a standard doublet stands
// beside it, by which hops can be compared. Phase lag is the phase at a
// stated frequency, as degrees and as time.
// Phase delay is the slope of the phase beyond 180 deg as ADS-33E-PRF (2000), 3.3.2.1,
// defines it. Transport delay is dead time in the control path, from a fitted model of
// disc, body and bar; the effective delay is its sum with the following time of the disc, and
// all there is where the data cannot tell the two apart.
//
// # How a response is found
//
// Twice. Averaged cross spectra of several window lengths, the other stick taken off, give
// the coherence and a first response (package spectrum). A long linear predictor of the
// motion from its own past and both sticks gives the response that is reported: it has no
// windows to leak slow motion in at their edges, and it stays right in the closed loop of
// pilot and aircraft, where the ratio of spectra is drawn towards minus one over the pilot.
// Wind logged with direction and heading comes in as two more inputs, so that what gusts do
// is not laid to the stick; pedal and collective do where the motion answers them. Where the
// two ways differ although the coherence is high, neither error formula holds: the difference
// is charged to the errors, points it swamps are left out, and a finding says so.
// The errors of the reported response are those of the predictor's parameters, and what half its
// memory makes of the answer beyond them. Every interval is drawn or derived from these errors;
// the study of many hops (build tag study) says by stratum how often they hold.
//
// For a motion that comes before the stick no predictor exists; then the spectra are
// reported, and every time is withheld.
//
// # From stamps to an even grid
//
// Every channel has its own stamps. All are brought to one grid by the same low-pass
// kernel in continuous time, a windowed sinc, evaluated at each stamp's true distance
// from the grid point. The kernel is symmetric, so it adds no delay; it is the same for
// stick and motion, so that whatever it takes off cancels in the response; its pass band
// reaches past the highest frequency reported. Where a channel has a gap the grid is
// interrupted; nothing is ever filled in.
package response
