package report

import (
	"strings"
	"unicode"
	"unicode/utf8"
)

// maxMarks is how many combining marks in a row Clean leaves on one letter. No script
// needs more; towers of them reach into the lines above and below.
const maxMarks = 4

// Clean makes text from outside fit to be shown in a terminal or on a card: one line of
// graphic characters. Terminal control sequences go as a whole; control characters,
// direction overrides, invisible characters and broken UTF-8 go one by one; tabs, line
// ends and unusual blanks become single spaces.
func Clean(s string) string {
	if plainASCII(s) {
		return s
	}
	var b strings.Builder
	b.Grow(len(s))
	marks := 0
	for len(s) > 0 {
		if n := controlSequence(s); n > 0 {
			s = s[n:]
			continue
		}
		r, n := utf8.DecodeRuneInString(s)
		s = s[n:]
		if unicode.Is(unicode.M, r) {
			marks++
		} else {
			marks = 0
		}
		switch {
		case r == utf8.RuneError && n == 1:
			b.WriteRune(utf8.RuneError)
		case unicode.IsSpace(r), unicode.Is(unicode.Z, r):
			b.WriteByte(' ')
		case unicode.IsGraphic(r) && marks <= maxMarks:
			b.WriteRune(r)
		}
	}
	return strings.Join(strings.FieldsFunc(b.String(), func(r rune) bool { return r == ' ' }), " ")
}

// plainASCII reports whether Clean would return s unchanged, for the common case.
func plainASCII(s string) bool {
	blank := true
	for i := range len(s) {
		c := s[i]
		if c < ' ' || c > '~' || (c == ' ' && blank) {
			return false
		}
		blank = c == ' '
	}
	return !blank || s == ""
}

// controlSequence returns the length of the terminal control sequence that s starts
// with, 0 if there is none (ECMA-48, 5th ed. 1991, 5.4 and 5.6). An unfinished sequence
// ends with the text.
func controlSequence(s string) int {
	kind, n := byte(0), 0
	switch {
	case strings.HasPrefix(s, "\x1b") && len(s) > 1:
		kind, n = s[1], 2
	case strings.HasPrefix(s, "\x1b"):
		return 1
	case len(s) > 1 && s[0] == 0xc2 && strings.IndexByte("\x90\x98\x9b\x9d\x9e\x9f", s[1]) >= 0:
		kind, n = s[1]-0x40, 2 // the same control as one character
	default:
		return 0
	}
	switch kind {
	case '[': // control sequence: parameters, then one final byte
		for n < len(s) {
			if n++; s[n-1] >= 0x40 && s[n-1] <= 0x7e {
				break
			}
		}
	case ']', 'P', '^', '_', 'X': // string: up to BEL or the string terminator
		for n < len(s) {
			if s[n] == '\a' {
				return n + 1
			}
			if strings.HasPrefix(s[n:], "\x1b\\") || strings.HasPrefix(s[n:], "\u009c") {
				return n + 2
			}
			n++
		}
	case '(', ')', '*', '+', '#', '%', ' ':
		if n < len(s) {
			n++
		}
	}
	return n
}

// Short is Clean, cut to at most n characters with an ellipsis.
func Short(s string, n int) string {
	s = Clean(s)
	if utf8.RuneCountInString(s) <= n {
		return s
	}
	runes := []rune(s)
	return strings.TrimRight(string(runes[:max(0, n-1)]), " ") + "…"
}

// markdown makes text from outside fit to stand in a Markdown line: cleaned, cut to a
// length that fits a card, and with the marks taken off that would start markup. A card
// is also read as plain text, so no mark is escaped that has no effect.
func markdown(s string, n int) string {
	s = Short(s, n)
	var b strings.Builder
	for i, r := range s {
		if needsEscape(s, i, r) {
			b.WriteByte('\\')
		}
		b.WriteRune(r)
	}
	return b.String()
}

// needsEscape reports whether the character r at s[i] could start or end markup
// (CommonMark 0.31.2, section 6; tables and bare links as many readers add them).
func needsEscape(s string, i int, r rune) bool {
	rest := s[i+utf8.RuneLen(r):]
	switch r {
	case '\\', '`', '*', '[', ']', '<', '|', '~', '$':
		return true
	case '_':
		return !(wordBefore(s[:i]) && wordAfter(rest))
	case '&':
		return wordAfter(rest) || strings.HasPrefix(rest, "#")
	case ':':
		return strings.HasPrefix(rest, "//")
	case '.':
		return i >= 3 && strings.EqualFold(s[i-3:i], "www") || startsItem(s[:i], rest)
	case '#', '>', '+', '-', '=':
		return i == 0
	case ')':
		return startsItem(s[:i], rest)
	case '@':
		return true
	}
	return false
}

// startsItem tells the mark between before and after that makes a numbered item of a list:
// up to nine digits before it, a blank or nothing after it.
func startsItem(before, after string) bool {
	return len(before) < 10 && onlyDigits(before) && (after == "" || after[0] == ' ')
}

func onlyDigits(s string) bool {
	return s != "" && strings.Trim(s, "0123456789") == ""
}

func wordBefore(s string) bool {
	r, _ := utf8.DecodeLastRuneInString(s)
	return unicode.IsLetter(r) || unicode.IsDigit(r)
}

func wordAfter(s string) bool {
	r, _ := utf8.DecodeRuneInString(s)
	return unicode.IsLetter(r) || unicode.IsDigit(r)
}
