// Package spectrum estimates spectra and frequency responses of evenly sampled records
// by averaging windowed, overlapping segments of them (Welch 1967).
//
// # Conventions
//
// A record is a set of gap-free runs; a run holds one slice per channel, all of one
// length and on one even time grid. Windows never reach across the end of a run: runs
// are averaged, never joined.
//
// Frequencies are angular, in rad/s. Densities are one-sided, per Hz: unit squared per
// Hz. The cross density of channels i and j is the average of conj(X_i) X_j, so that a
// response is H = Gxy/Gxx (the H1 estimate of Bendat and Piersol, Random Data, 4th ed.
// 2010, chapter 6) and its phase is negative where the output follows the input.
// The window is the periodic Hann window, w[k] = (1 - cos(2 pi k/N))/2.
//
// K is the number of windows averaged, Ke the number of independent ones that would
// leave the same scatter (Welch 1967, IEEE Trans. AU-15(2), 70-73). Coherence is always
// the squared magnitude.
package spectrum
