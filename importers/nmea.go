package importers

import (
	"bufio"
	"bytes"
	"context"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"hopcard/flight"
)

// A sentence of NMEA 0183 is $, an address of five letters, fields between commas, *
// and two hexadecimal digits: the exclusive or of all bytes between $ and *. Wind comes
// as MWV (angle from the bow) or MWD (compass direction), the time as ZDA, RMC, GGA or
// GLL, or as a stamp that the logger puts in front.

// looksNMEA reports whether most lines carry a sentence.
func looksNMEA(lines []headLine) bool {
	n := 0
	for _, l := range lines {
		if s := strings.IndexByte(l.text, '$'); s >= 0 {
			addr, _, ok := strings.Cut(l.text[s+1:], ",")
			if ok && len(addr) == 5 && strings.ToUpper(addr) == addr && strings.Trim(addr, "ABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789") == "" {
				n++
			}
		}
	}
	return 2*n > len(lines)
}

// checkSentence cuts the fields out of a sentence that starts at $. sum is false where
// the checksum is missing, bad where it is wrong.
func checkSentence(text string) (fields []string, sum, bad bool) {
	body := strings.TrimSpace(text[1:])
	star := strings.LastIndexByte(body, '*')
	if star < 0 {
		return strings.Split(body, ","), false, false
	}
	want, err := strconv.ParseUint(strings.TrimSpace(body[star+1:]), 16, 8)
	var x byte
	for i := range star {
		x ^= body[i]
	}
	return strings.Split(body[:star], ","), true, err != nil || byte(want) != x
}

// sentences collects what the sentences of a file say.
type sentences struct {
	f       *logFile
	line    int
	stamps  []float64
	speed   *column // MWV
	angle   *column
	mwd     *column // speed of MWD
	from    *column // true direction of MWD
	nowS    float64 // time of the last time sentence, seconds after baseDay
	day     int64   // of the last date, -1 before any
	prefix  cellKind
	hasTime bool

	bad, unchecked, void, disagree, unread    int
	firstBad, firstVoid, firstDis, firstUnrd  int
	other                                     map[string]int
	relative, magneticOnly, apparent, theoret int
}

func (f *logFile) readSentences(ctx context.Context, in *input) error {
	s := &sentences{f: f, day: -1, nowS: nan, other: map[string]int{}}
	s.speed = sentenceColumn("MWV wind speed", flight.WindSpeed)
	s.angle = sentenceColumn("MWV wind angle", "")
	s.mwd = sentenceColumn("MWD wind speed", flight.WindSpeed)
	s.from = sentenceColumn("MWD wind direction", flight.WindDirectionFrom)
	f.time = timeForm{label: "time of the sentences", baseDay: -1}
	scan := bufio.NewScanner(io.NewSectionReader(in.r, in.start, in.size-in.start))
	scan.Buffer(make([]byte, 4096), maxLine)
	for scan.Scan() {
		if s.line++; s.line%1024 == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		s.take(scan.Bytes())
	}
	if scan.Err() != nil {
		return &lineError{s.line, fmt.Sprintf("a line is longer than %d kB: this is no log", maxLine>>10)}
	}
	return s.finish()
}

func sentenceColumn(name string, q flight.Quantity) *column {
	return &column{header: name, quantity: q, sign: 1, scale: 1, sure: 0.95}
}

func (s *sentences) take(line []byte) {
	start := bytes.IndexByte(line, '$')
	if start < 0 {
		if len(bytes.TrimSpace(line)) > 0 && !isComment(string(line)) {
			s.other["text"]++
		}
		return
	}
	fields, sum, bad := checkSentence(string(line[start:]))
	if !sum {
		s.unchecked++
	}
	if bad {
		if s.bad++; s.bad == 1 {
			s.firstBad = s.line
		}
		return
	}
	if len(fields[0]) < 5 {
		s.other["text"]++
		return
	}
	switch kind := fields[0][len(fields[0])-3:]; kind {
	case "ZDA", "RMC", "GGA", "GLL":
		s.clock(kind, fields)
	case "MWV":
		s.mwv(fields, line[:start])
	case "MWD":
		s.mwdRow(fields, line[:start])
	default:
		s.other[kind]++
	}
}

// clock reads the time of day, and the date where there is one.
func (s *sentences) clock(kind string, f []string) {
	at, date := 1, ""
	switch kind {
	case "GLL":
		at = 5
	case "RMC":
		if len(f) > 9 && len(f[9]) == 6 {
			date = "20" + f[9][4:6] + f[9][2:4] + f[9][0:2]
		}
	case "ZDA":
		if len(f) > 4 {
			date = f[4] + f[3] + f[2]
		}
	}
	if len(f) <= at || len(f[at]) < 6 {
		return
	}
	c := scanner{b: []byte(f[at])}
	secs, ok := c.clock()
	if !ok || !c.done() {
		return
	}
	if len(date) == 8 {
		d := scanner{b: []byte(date)}
		if day, ok := d.date(); ok {
			s.day = day
			if s.f.time.baseDay < 0 {
				s.f.time.baseDay = day
			}
		}
	}
	s.nowS = secs
	if s.day >= 0 {
		s.nowS += float64(s.day-s.f.time.baseDay) * 86400
	}
	s.hasTime = true
}

// stamp returns the time of a wind sentence: what stands before it, or the last time
// sentence.
func (s *sentences) stamp(before []byte) float64 {
	text := bytes.Trim(before, " \t,;[]")
	if len(text) == 0 {
		return s.nowS
	}
	kind, ok := kindOf(string(text), '.')
	if !ok {
		return s.nowS
	}
	t := &s.f.time
	s.prefix = kind
	var v float64
	switch kind {
	case isoCell:
		if t.baseDay < 0 {
			x, zoned, _ := parseISO(text, 0)
			t.baseDay, t.zoned = int64(math.Floor(x/86400)), zoned
		}
		v, _, _ = parseISO(text, t.baseDay)
	case clockCell:
		v, _ = parseClock(text)
	case numberCell:
		v, _ = slowNumber(text, '.')
	default:
		return s.nowS
	}
	return v
}

// row makes room for a value of column to: in the last row, if that has the same time
// and nothing in this column yet, otherwise in a new row.
func (s *sentences) row(before []byte, to *column) {
	at := s.stamp(before)
	if n := len(s.stamps); n > 0 && s.stamps[n-1] == at && to.values[n-1] != to.values[n-1] {
		return
	}
	s.stamps = append(s.stamps, at)
	for _, c := range []*column{s.speed, s.angle, s.mwd, s.from} {
		c.values = append(c.values, nan)
	}
}

func set(c *column, v float64) { c.values[len(c.values)-1] = v }

// mwv reads $--MWV,angle,R|T,speed,K|M|N|S,A|V: the angle is from the bow, so that it
// gives no compass direction.
func (s *sentences) mwv(f []string, before []byte) {
	s.row(before, s.speed)
	if len(f) < 6 || f[5] != "A" {
		s.lost()
		return
	}
	unit, ok := map[string]flight.Unit{"K": flight.KmPerH, "M": flight.MPerS, "N": flight.Knot, "S": flight.MilePerH}[f[4]]
	v, okV := slowNumber([]byte(f[3]), '.')
	if !ok || !okV || v < 0 {
		s.cannot()
		return
	}
	set(s.speed, inUnit(s.speed, v, unit))
	if a, ok := slowNumber([]byte(f[1]), '.'); ok {
		set(s.angle, a)
		s.relative++
	}
	if f[2] == "R" {
		s.apparent++
	} else {
		s.theoret++
	}
}

// mwdRow reads $--MWD,true,T,magnetic,M,knots,N,m/s,M.
func (s *sentences) mwdRow(f []string, before []byte) {
	s.row(before, s.mwd)
	if len(f) < 9 {
		s.cannot()
		return
	}
	kt, okKt := slowNumber([]byte(f[5]), '.')
	ms, okMS := slowNumber([]byte(f[7]), '.')
	fromKt := kt * 1852 / 3600
	switch {
	case okKt && okMS && math.Abs(fromKt-ms) > 0.11+0.02*ms:
		if s.disagree++; s.disagree == 1 {
			s.firstDis = s.line
		}
	case okMS:
		set(s.mwd, inUnit(s.mwd, ms, flight.MPerS))
	case okKt:
		set(s.mwd, inUnit(s.mwd, kt, flight.Knot))
	default:
		s.lost()
	}
	if d, ok := slowNumber([]byte(f[1]), '.'); ok && f[2] == "T" && d >= 0 && d <= 360 {
		set(s.from, d)
	} else if f[3] != "" {
		s.magneticOnly++
	}
}

// inUnit gives v in the unit that the column was first written in.
func inUnit(c *column, v float64, u flight.Unit) float64 {
	if c.unit == flight.NoUnit {
		c.unit = u
	}
	if u == c.unit {
		return v
	}
	a, _, _ := u.Scale()
	b, _, _ := c.unit.Scale()
	return v * a / b
}

func (s *sentences) lost() {
	if s.void++; s.void == 1 {
		s.firstVoid = s.line
	}
}

func (s *sentences) cannot() {
	if s.unread++; s.unread == 1 {
		s.firstUnrd = s.line
	}
}

// finish settles the time form and the columns.
func (s *sentences) finish() error {
	f, t := s.f, &s.f.time
	if len(s.stamps) == 0 {
		return fmt.Errorf("no wind sentence (MWV or MWD) with a right checksum among %d lines", s.line)
	}
	switch {
	case s.prefix == isoCell:
		t.absolute, t.unit, t.words = true, flight.ISO8601, "ISO 8601 before each sentence"
	case s.prefix == clockCell:
		t.dayless, t.unit, t.wrapPeriodS, t.words = true, flight.ClockTime, 86400, "hh:mm:ss before each sentence"
	case s.prefix == numberCell:
		t.words = "a number before each sentence"
	case s.hasTime && s.day >= 0:
		t.absolute, t.zoned, t.unit, t.words = true, true, flight.ISO8601, "UTC from time sentences"
		t.wrapPeriodS = 86400
	case s.hasTime:
		t.dayless, t.zoned, t.unit, t.wrapPeriodS, t.words = true, true, flight.ClockTime, 86400, "UTC of day from time sentences"
	default:
		return fmt.Errorf("the sentences carry no time: log ZDA or RMC with them, or let the logger put a stamp in front of each")
	}
	t.baseDay = max(t.baseDay, 0)
	t.stamp = &column{header: t.label, kind: max(s.prefix, numberCell)}
	if s.prefix != numberCell {
		t.stamp.kind = isoCell
	}
	s.findings()
	f.special = true
	for _, c := range []*column{s.mwd, s.from, s.speed} {
		if look(c.values).n > 0 {
			f.columns = append(f.columns, c)
		}
	}
	s.from.unit = flight.Deg
	if len(f.columns) == 0 {
		return fmt.Errorf("none of the %d wind sentences holds a valid wind", len(s.stamps))
	}
	f.rows = len(s.stamps)
	return f.orderRaw(s.stamps, nil)
}

func (s *sentences) findings() {
	f := s.f
	all := flight.Span{}
	if s.bad > 0 {
		f.add(flight.CodeChecksum, flight.Caution, "", all,
			fmt.Sprintf("%d sentences have a wrong checksum, first in line %d", s.bad, s.firstBad), "they are left out; check the cable")
	}
	if s.unchecked > 0 {
		f.add(flight.CodeChecksum, flight.Caution, "", all,
			fmt.Sprintf("%d sentences carry no checksum", s.unchecked), "they are used as they are; a garbled one would not be noticed")
	}
	if s.void > 0 {
		f.add(flight.CodeVoid, flight.Note, "", all,
			fmt.Sprintf("%d wind sentences say that they hold no valid wind, first in line %d", s.void, s.firstVoid), "they are left out")
	}
	if s.unread > 0 {
		f.add(flight.CodeNotANumber, flight.Caution, "", all,
			fmt.Sprintf("%d wind sentences cannot be read, first in line %d", s.unread, s.firstUnrd), "they are left out")
	}
	if s.disagree > 0 {
		f.add(flight.CodeUnitContradiction, flight.Caution, s.mwd.header, all,
			fmt.Sprintf("in %d MWD sentences knots and m/s disagree, first in line %d", s.disagree, s.firstDis), "their speed is left out")
	}
	if s.relative > 0 {
		f.add(flight.CodeUnrecognised, flight.Note, s.angle.header, all,
			"the angle of MWV is from the bow of whatever carries the sensor, not from north: it is not used as a direction",
			"log MWD for the direction")
	}
	if s.apparent > 0 && s.theoret > 0 {
		f.add(flight.CodeUnitContradiction, flight.Caution, s.speed.header, all,
			fmt.Sprintf("%d MWV sentences hold the wind as felt on board and %d the wind over ground; both are in one channel", s.apparent, s.theoret),
			"log one of the two")
	}
	if s.magneticOnly > 0 {
		f.add(flight.CodeUnrecognised, flight.Caution, s.from.header, all,
			fmt.Sprintf("%d MWD sentences give the magnetic direction only; it is left out", s.magneticOnly), "set the variation in the sensor")
	}
	s.otherKinds()
}

func (s *sentences) otherKinds() {
	n := 0
	for _, c := range s.other {
		n += c
	}
	if n > 0 {
		s.f.add(flight.CodeUnrecognised, flight.Note, "", flight.Span{},
			fmt.Sprintf("%d other sentences or lines are not used", n), "")
	}
}
