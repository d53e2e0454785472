package tui

import (
	"strings"
	"unicode"

	"hopcard/report"
)

// clean makes text from a log fit for one line of a screen: control sequences go as a
// whole, as on the card, and what else could upset a grid of cells becomes safe.
func clean(s string) string { return safe(report.Clean(s)) }

// safe makes a text harmless without moving its columns: control characters (which could
// move the cursor or start an escape sequence), characters that turn the direction of
// writing, and bytes that are no text become a visible substitute; blanks of any kind
// become spaces.
func safe(s string) string {
	if !strings.ContainsFunc(s, unsafeRune) {
		return s
	}
	return strings.Map(func(r rune) rune {
		switch {
		case !unsafeRune(r):
			return r
		case unicode.IsSpace(r):
			return ' '
		case unicode.Is(unicode.Cf, r), unicode.Is(unicode.Mn, r), unicode.Is(unicode.Me, r):
			return -1
		}
		return '·'
	}, s)
}

// unsafeRune holds back more than control characters: format characters (Cf) hold the
// switches of writing direction, marks (Mn, Me) pile up over a cell without end, and
// some terminals join letters of right-to-left scripts across our columns.
func unsafeRune(r rune) bool {
	switch {
	case r == ' ':
		return false
	case r == unicode.ReplacementChar, unicode.IsControl(r), unicode.IsSpace(r):
		return true
	case unicode.In(r, unicode.Cf, unicode.Mn, unicode.Me, unicode.Co, unicode.Cs, unicode.Zl, unicode.Zp):
		return true
	}
	return !unicode.IsPrint(r) || unicode.In(r, unicode.Arabic, unicode.Hebrew, unicode.Syriac, unicode.Thaana, unicode.Nko)
}
