package importers

import "math"

// civilDays returns the days from 1 January 1970 to a date of the Gregorian calendar
// (Howard Hinnant 2013, "chrono-compatible low-level date algorithms", from memory).
func civilDays(y, m, d int) int64 {
	if m <= 2 {
		y--
	}
	era := y / 400
	yoe := y - era*400
	mp := (m + 9) % 12
	doy := (153*mp+2)/5 + d - 1
	doe := yoe*365 + yoe/4 - yoe/100 + doy
	return int64(era)*146097 + int64(doe) - 719468
}

// scanner walks over the text of one cell.
type scanner struct {
	b []byte
	i int
}

func (s *scanner) done() bool { return s.i >= len(s.b) }

func (s *scanner) peek() byte {
	if s.done() {
		return 0
	}
	return s.b[s.i]
}

func (s *scanner) take(c byte) bool {
	if s.peek() != c || s.done() {
		return false
	}
	s.i++
	return true
}

// digits reads between lo and hi digits.
func (s *scanner) digits(lo, hi int) (v, n int, ok bool) {
	for n < hi && !s.done() && s.b[s.i]-'0' <= 9 {
		v = v*10 + int(s.b[s.i]-'0')
		s.i++
		n++
	}
	return v, n, n >= lo
}

// date reads YYYY-MM-DD, YYYY/MM/DD, YYYYMMDD or DD.MM.YYYY as days since 1970.
func (s *scanner) date() (days int64, ok bool) {
	a, n, ok := s.digits(1, 4)
	if !ok {
		return 0, false
	}
	var y, m, d int
	switch sep := s.peek(); {
	case n == 4 && (sep == '-' || sep == '/'):
		s.i++
		y = a
		var ok1, ok2, ok3 bool
		m, _, ok1 = s.digits(1, 2)
		ok2 = s.take(sep)
		d, _, ok3 = s.digits(1, 2)
		ok = ok1 && ok2 && ok3
	case n <= 2 && sep == '.':
		s.i++
		d = a
		var ok1, ok2, ok3 bool
		m, _, ok1 = s.digits(1, 2)
		ok2 = s.take('.')
		y, _, ok3 = s.digits(4, 4)
		ok = ok1 && ok2 && ok3
	case n == 4:
		y = a
		var md int
		md, _, ok = s.digits(4, 4)
		m, d = md/100, md%100
	default:
		return 0, false
	}
	if !ok || m < 1 || m > 12 || d < 1 || d > 31 || y < 1970 {
		return 0, false
	}
	return civilDays(y, m, d), true
}

// clock reads hh:mm, hh:mm:ss or hhmmss with an optional fraction, as seconds.
func (s *scanner) clock() (secs float64, ok bool) {
	h, n, ok := s.digits(1, 2)
	if !ok {
		return 0, false
	}
	var m, sec int
	colon := s.take(':')
	if !colon && n != 2 {
		return 0, false
	}
	if m, _, ok = s.digits(2, 2); !ok {
		return 0, false
	}
	withSeconds := true
	if colon {
		withSeconds = s.take(':')
	}
	if withSeconds {
		if sec, _, ok = s.digits(2, 2); !ok {
			return 0, false
		}
	}
	if h > 24 || m > 59 || sec > 60 {
		return 0, false
	}
	secs = float64(h*3600 + m*60 + sec)
	if c := s.peek(); withSeconds && (c == '.' || c == ',') {
		s.i++
		f, n, ok := s.digits(1, 9)
		if !ok {
			return 0, false
		}
		secs += float64(f) / exactPow10[n]
		for !s.done() && s.b[s.i]-'0' <= 9 { // finer than a nanosecond
			s.i++
		}
	}
	return secs, true
}

// zone reads Z, UTC, +hh, +hhmm or +hh:mm; said is false where nothing is written.
func (s *scanner) zone() (offsetS float64, said, ok bool) {
	s.take(' ')
	switch c := s.peek(); {
	case s.done():
		return 0, false, true
	case c == 'Z' || c == 'z':
		s.i++
		return 0, true, true
	case c == 'U' && s.i+3 <= len(s.b) && string(s.b[s.i:s.i+3]) == "UTC":
		s.i += 3
		return 0, true, true
	case c == '+' || c == '-':
		s.i++
		h, _, ok := s.digits(2, 2)
		s.take(':')
		m, _, _ := s.digits(0, 2)
		offsetS = float64(h*3600 + m*60)
		if c == '-' {
			offsetS = -offsetS
		}
		return offsetS, true, ok && h <= 14 && m < 60
	}
	return 0, false, false
}

// parseISO reads a date and time of day, joined by T or blanks, as seconds after the
// start of baseDay (days since 1970). zoned tells whether the text said its zone.
func parseISO(b []byte, baseDay int64) (secs float64, zoned, ok bool) {
	s := scanner{b: b}
	days, ok := s.date()
	if !ok {
		return math.NaN(), false, false
	}
	if !s.take('T') && !s.take('t') {
		if !s.take(' ') {
			return math.NaN(), false, false
		}
		for s.take(' ') {
		}
	}
	if secs, ok = s.clock(); !ok {
		return math.NaN(), false, false
	}
	offset, zoned, ok := s.zone()
	if !ok || !s.done() {
		return math.NaN(), false, false
	}
	return float64(days-baseDay)*86400 + secs - offset, zoned, true
}

// parseClock reads a time of day as seconds after midnight; colons are required, or a
// plain number would pass for one.
func parseClock(b []byte) (secs float64, ok bool) {
	s := scanner{b: b}
	if len(b) < 4 || (b[1] != ':' && b[2] != ':') {
		return math.NaN(), false
	}
	if secs, ok = s.clock(); !ok {
		return math.NaN(), false
	}
	if _, _, ok = s.zone(); !ok || !s.done() {
		return math.NaN(), false
	}
	return secs, true
}

// parseDate reads a date alone as seconds from the start of baseDay; YYYYMMDD without
// separators is left to the numbers.
func parseDate(b []byte, baseDay int64) (secs float64, ok bool) {
	s := scanner{b: b}
	if len(b) == 8 && b[4]-'0' <= 9 && b[2] != '.' {
		return math.NaN(), false
	}
	days, ok := s.date()
	if !ok || !s.done() {
		return math.NaN(), false
	}
	return float64(days-baseDay) * 86400, true
}
