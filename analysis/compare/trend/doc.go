// Package trend sets the key numbers of a logbook's hops side by side in time order, with
// the changes of configuration between them: what the last change did, and what drifts
// although nothing was changed.
//
// A series is one number of one axis over all hops, each with the hop's own 95 % interval,
// and a level for each configuration: the mean over its hops, whose interval holds what
// differs from hop to hop (as in package compare). Whether two levels differ is for
// compare to say, which keeps in mind how many numbers are looked at; a trend shows.
//
// Hops without a date cannot be put in order of time: they stand behind the dated ones in
// order of name, and a note says so.
package trend
