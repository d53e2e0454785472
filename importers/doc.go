// Package importers turns the files that loggers write into a flight.Hop: columns to
// quantities in SI units with this project's signs, stamps to one clock, and every
// doubt on the way to a finding.
//
// A file is read in four steps. Its dress is worked out from its first lines: encoding,
// delimiter, decimal mark, comments, header, units row (dress.go). The rows are parsed
// on all cores straight into float64 columns (table.go). Names, units and values say
// what each column is (names.go, units.go, guess.go, scale.go). Stamps become seconds
// in ascending order (stamp.go, order.go). What the files of one hop say about each
// other comes last: clocks (clock.go) and signs (signs.go).
//
// Nothing is resampled or repaired: a value that cannot be read is NaN, a row whose
// stamp cannot be placed is left out, and a finding says so.
package importers
