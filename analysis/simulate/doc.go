// Package simulate flies simulated hops whose truth is known exactly: the aircraft of
// package rotor, a pilot who sees, waits and moves a stick, gusts, and the loggers that
// write it all down. Everything follows from a Scenario and its seed; the same scenario
// gives the same bytes.
//
// # Equations
//
// The aircraft is rotor.Model, driven through its dead time; between steps of StepS the
// sticks and the wind are taken as straight lines and the linear equations are solved
// exactly (first-order hold). On the ground, and with the rotor stopped, it does not
// answer; lift-off and landing blend between the two.
//
// The pilot holds attitude with gain Kp, lead T and a slow integral Ti, after a reaction
// delay and a neuromuscular lag, commands attitude against speed and position errors, and
// adds remnant noise (form after McRuer and Krendel, AGARDograph 188, 1974, from memory):
//
//	stick = F(s) [ Kp (1 + 1/(Ti s)) (command - attitude) - Kp T rate ] + remnant
//	F(s)  = exp(-delay s)/(lag s + 1)
//
// Gusts along and across the mean wind have the Dryden spectra of MIL-F-8785C (1980), 3.7,
// at low altitude, carried past the aircraft by the mean wind.
//
// Wind components follow the flow: north is the speed of the air towards north. Head wind
// and wind from the right are positive against the aircraft. Everything else is signed as
// in package flight.
package simulate
