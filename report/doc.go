// Package report writes a debrief down: as a test card in Markdown, HTML or PDF, as a CSV
// table, as JSON for other programs, and the table of `hopcard check`. So it does the card
// before a hop, a comparison, the trend over a logbook and a prediction. It computes nothing
// of its own; angles, rates and stick travel are turned into the units of cards (deg,
// deg/s, percent) here.
//
// What is on a card is said once (describe): its lines are the Markdown card, its blocks
// are laid out as HTML and PDF, with figures between them. A figure is a list of shapes. A
// card is to fit on two pages: see fits.
//
// Everything written is a function of its arguments alone: same debrief, same bytes.
// Text that came out of logs or settings files may be hostile. Cards and tables show it
// cleaned (see Clean) and with Markdown marks taken off; JSON keeps it whole, with
// every character that is not graphic written as an escape.
package report
