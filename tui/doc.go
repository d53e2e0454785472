// Package tui is the full-screen program: the logbook, and for one hop its traces, its
// response to the stick, the air, stability, the data behind it and the card.
//
// It computes nothing. Every number it shows is a field of a debrief.Debrief; this
// package turns it into the units of screens and cards and draws it. Hops are read and
// analysed in commands beside the update loop (Options.Load), so that no key waits.
//
// The root model owns the size, the header, the help line and the running jobs. A
// screen is one struct with Title, SetSize, Update, View and its key bindings. Screens
// draw on a paper, a grid of cells that clips whatever does not fit, and are sent to
// the terminal as runs of one pen each.
//
// Text that comes from a log goes through clean before it is drawn.
package tui
