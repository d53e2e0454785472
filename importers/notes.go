package importers

import (
	"context"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"github.com/gocarina/gocsv"

	"hopcard/flight"
)

// maxNotes is the largest file in bytes that is taken for notes typed by hand.
const maxNotes = 1 << 20

// windNote is a line of a wind table typed by hand.
type windNote struct {
	Time      string `csv:"time"`
	Mean      string `csv:"mean"`
	Gust      string `csv:"gust"`
	Direction string `csv:"direction"`
}

// markNote is a line of an event table.
type markNote struct {
	Time string `csv:"time"`
	Text string `csv:"text"`
}

// cellRows hands rows of cells to gocsv under plain column names.
type cellRows struct {
	rows [][]string
	next int
}

func (r *cellRows) Read() ([]string, error) {
	if r.next >= len(r.rows) {
		return nil, io.EOF
	}
	r.next++
	return r.rows[r.next-1], nil
}

func (r *cellRows) ReadAll() ([][]string, error) {
	rest := r.rows[r.next:]
	r.next = len(r.rows)
	return rest, nil
}

// noteNames gives each column of a header its plain name, if it is one of notes.
func noteNames(header []string) []string {
	names := make([]string, len(header))
	for k, h := range header {
		base, _ := cutBracket(h)
		w := words(splitWords(base))
		switch {
		case w.has("time", "utc", "clock", "t"):
			names[k] = "time"
		case w.has("gust", "gusts", "max", "peak"):
			names[k] = "gust"
		case w.has("mean", "average", "avg", "steady"), w.is("wind", "speed"):
			names[k] = "mean"
		case w.has("direction", "dir", "from"):
			names[k] = "direction"
		case w.has("text", "event", "mark", "note", "notes", "remark", "remarks", "comment", "what", "label", "marker"):
			names[k] = "text"
		default:
			names[k] = "other " + h
		}
	}
	return names
}

// readFixed reads the tables of fixed columns: wind notes and event marks. handled is
// false for anything else.
func (f *logFile) readFixed(ctx context.Context, in *input) (handled bool, err error) {
	d := f.dress
	if d.header == nil || in.size > maxNotes || ctx.Err() != nil {
		return false, ctx.Err()
	}
	names := noteNames(d.header)
	has := func(n string) bool { return slices.Contains(names, n) }
	wind := has("time") && has("mean") && has("gust")
	marks := has("time") && has("text") && len(names) <= 3 && f.noQuantity()
	if !wind && !marks {
		return false, nil
	}
	rows, lines, err := f.noteRows(in)
	if err != nil {
		return true, err
	}
	table := &cellRows{rows: append([][]string{names}, rows...)}
	f.special = true
	if wind {
		var notes []*windNote
		if err := gocsv.UnmarshalCSV(table, &notes); err != nil {
			return true, fmt.Errorf("wind notes: %w", err)
		}
		return true, f.windNotes(notes, lines)
	}
	var notes []*markNote
	if err := gocsv.UnmarshalCSV(table, &notes); err != nil {
		return true, fmt.Errorf("event marks: %w", err)
	}
	return true, f.eventMarks(notes, lines)
}

// noQuantity reports whether the header names nothing that a sensor measures.
func (f *logFile) noQuantity() bool {
	for _, h := range f.dress.header {
		if q := readName(h).quantity; q != "" && q != flight.Time {
			return false
		}
	}
	return true
}

// noteRows cuts the lines after the header into cells and keeps their line numbers.
func (f *logFile) noteRows(in *input) (rows [][]string, lines []int, err error) {
	text := make([]byte, in.size-in.start)
	if _, err := in.r.ReadAt(text, in.start); err != nil && err != io.EOF {
		return nil, nil, err
	}
	d := f.dress
	for _, l := range splitHead(text, in.start, true) {
		if l.no <= max(d.headerLine, d.unitsLine) || isComment(l.text) {
			continue
		}
		cells := splitCells(l.text, d.delim)
		if n := len(d.header); len(cells) > n { // a comma within a remark
			cells[n-1] = strings.Join(cells[n-1:], string(d.delim)+" ")
		}
		rows, lines = append(rows, resize(cells, len(d.header))), append(lines, l.no)
	}
	return rows, lines, nil
}

// noteTimes reads the times of notes: hh:mm, hh:mm:ss, date and time, or seconds.
func (f *logFile) noteTimes(cells []string, lines []int) []float64 {
	t := &f.time
	t.label = "time"
	t.stamp = &column{header: "time", kind: isoCell}
	out := make([]float64, len(cells))
	votes := map[cellKind]int{}
	for _, c := range cells {
		if kind, ok := kindOf(c, f.dress.dec); ok && c != "" {
			votes[kind]++
		}
	}
	kind := numberCell
	for _, k := range []cellKind{isoCell, clockCell} {
		if votes[k] > votes[kind] {
			kind = k
		}
	}
	for i, c := range cells {
		out[i] = nan
		switch kind {
		case isoCell:
			if v, zoned, ok := parseISO([]byte(c), t.baseDay); ok {
				if !t.absolute {
					t.absolute, t.zoned, t.baseDay = true, zoned, int64(math.Floor(v/86400))
					v -= float64(t.baseDay) * 86400
				}
				out[i] = v
			}
		case clockCell:
			if v, ok := parseClock([]byte(c)); ok {
				out[i] = v
			}
		default:
			if v, ok := slowNumber([]byte(c), f.dress.dec); ok {
				out[i] = v
			}
		}
		if out[i] != out[i] {
			f.add(flight.CodeNotANumber, flight.Caution, "time", flight.Span{},
				fmt.Sprintf("line %d: %q is no time", lines[i], c), "write hh:mm:ss, or seconds of the hop; the line is left out")
		}
	}
	switch kind {
	case isoCell:
		t.unit, t.words = flight.ISO8601, "time as ISO 8601"
	case clockCell:
		t.minutes = !slices.ContainsFunc(cells, func(c string) bool { return strings.Count(c, ":") > 1 })
		t.unit, t.dayless, t.wrapPeriodS, t.words = flight.ClockTime, true, 86400, "time as hh:mm:ss"
	default:
		t.unit, t.hopSeconds, t.words = flight.Second, true, "time in seconds of the hop"
	}
	return out
}

func (f *logFile) windNotes(notes []*windNote, lines []int) error {
	times := make([]string, len(notes))
	mean := f.noteColumn("mean", flight.WindSpeed)
	from := f.noteColumn("direction", flight.WindDirectionFrom)
	gust := f.noteColumn("gust", flight.WindSpeed)
	for i, n := range notes {
		times[i] = n.Time
		mean.values = append(mean.values, f.noteValue(mean, n.Mean, lines[i]))
		from.values = append(from.values, f.noteValue(from, n.Direction, lines[i]))
		gust.values = append(gust.values, f.noteValue(gust, n.Gust, lines[i]))
	}
	f.rows = len(notes)
	stamps := f.noteTimes(times, lines)
	gust.sure -= 0.1 // the mean is the wind, where one is asked for
	if !strings.Contains(strings.ToLower(gust.header), "gust") {
		gust.header = "gust (" + gust.header + ")"
	}
	for _, c := range []*column{mean, from, gust} {
		if look(c.values).n > 0 {
			f.columns = append(f.columns, c)
		}
	}
	if len(f.columns) == 0 {
		return fmt.Errorf("none of the %d wind notes holds a wind", len(notes))
	}
	if mean.unit == flight.NoUnit {
		mean.unit = gust.unit // one hand does not note the mean in knots and the gust in m/s
	} else if gust.unit == flight.NoUnit {
		gust.unit = mean.unit
	}
	return f.orderRaw(stamps, nil)
}

// noteColumn makes the column of notes called name, with its unit from the header.
func (f *logFile) noteColumn(name string, q flight.Quantity) *column {
	c := &column{header: name, quantity: q, sign: 1, scale: 1, sure: 0.9}
	for k, n := range noteNames(f.dress.header) {
		if n != name {
			continue
		}
		c.header = f.dress.header[k]
		if r := readName("wind " + c.header); r.unitText != "" {
			c.unit, _ = fittingUnit(r.unitText, q)
		}
		if f.dress.units != nil && c.unit == flight.NoUnit {
			c.unit, _ = fittingUnit(strings.Trim(f.dress.units[k], "[]()"), q)
		}
	}
	if q == flight.WindDirectionFrom && c.unit == flight.NoUnit {
		c.unit = flight.Deg
	}
	return c
}

// noteValue reads a value typed by hand: a number, a number with its unit, or a point of
// the compass.
func (f *logFile) noteValue(c *column, cell string, line int) float64 {
	cell = strings.TrimSpace(cell)
	if cell == "" || cell == "-" {
		return nan
	}
	if v, ok := slowNumber([]byte(cell), f.dress.dec); ok {
		return v
	}
	if c.quantity == flight.WindDirectionFrom {
		if v, ok := compassPoint(cell); ok {
			return v
		}
	}
	if n := strings.IndexFunc(cell, func(r rune) bool { return !strings.ContainsRune("0123456789.,-+", r) }); n > 0 {
		v, ok := slowNumber([]byte(strings.TrimSpace(cell[:n])), f.dress.dec)
		if u, fits := fittingUnit(cell[n:], c.quantity); ok && fits {
			return inUnit(c, v, u)
		}
	}
	f.add(flight.CodeNotANumber, flight.Caution, c.header, flight.Span{},
		fmt.Sprintf("line %d: %q is no %s", line, clip([]byte(cell)), c.quantity), "write a number; the value is left out")
	return nan
}

// compassPoint returns the direction in degrees of one of the 16 points.
func compassPoint(s string) (float64, bool) {
	points := []string{"N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW", "NNW"}
	i := slices.Index(points, strings.ToUpper(s))
	return 22.5 * float64(i), i >= 0
}

func (f *logFile) eventMarks(notes []*markNote, lines []int) error {
	times := make([]string, len(notes))
	for i, n := range notes {
		times[i] = n.Time
	}
	stamps := f.noteTimes(times, lines)
	for i, n := range notes {
		if stamps[i] == stamps[i] {
			f.marks = append(f.marks, flight.Mark{TimeS: stamps[i], Text: n.Text, File: f.name})
		}
	}
	if len(f.marks) == 0 {
		return fmt.Errorf("none of the %d event marks has a time that can be read", len(notes))
	}
	f.rows = len(notes)
	slices.SortStableFunc(f.marks, func(a, b flight.Mark) int {
		return int(math.Copysign(1, a.TimeS-b.TimeS))
	})
	for _, m := range f.marks {
		if n := len(f.stamps); n == 0 || m.TimeS > f.stamps[n-1] {
			f.stamps = append(f.stamps, m.TimeS)
		}
	}
	return nil
}
