// Package report writes a debrief down: as a test card in Markdown, as JSON for other
// programs, and the table of `hopcard check`. It computes nothing of its own; angles,
// rates and stick travel are turned into the units of cards (deg, deg/s, percent) here.
//
// Everything written is a function of its arguments alone: same debrief, same bytes.
// Text that came out of logs or settings files may be hostile. Cards and tables show it
// cleaned (see Clean) and with Markdown marks taken off; JSON keeps it whole, with
// every character that is not graphic written as an escape.
package report
