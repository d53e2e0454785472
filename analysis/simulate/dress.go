package simulate

import (
	"hopcard/flight"
)

// Dress says how the loggers write a hop down: one file each, and the files that people
// write by hand.
type Dress struct {
	Files []FileDress
	// Marks are event marks, written as a table of time and text into MarksFile.
	MarksFile string
	Marks     []flight.MarkSettings
	// Notes are wind readings taken by hand into NotesFile: at each time the mean of the
	// minute before, the highest gust in it and the direction, rounded as a person does.
	NotesFile  string
	NoteTimesS []float64
}

// FileDress is one logger's file.
type FileDress struct {
	Name    string
	RateHz  float64
	Time    TimeDress
	Columns []ColumnDress // in the order of the file, without the stamp

	// Delimiter is ',', ';', '\t', '|' or ' ' (runs of blanks); 0 stands for a comma.
	Delimiter    byte
	DecimalComma bool
	// Comments are written before the header, as they stand.
	Comments     []string
	NoHeader     bool
	UnitsRow     bool // a row of the columns' UnitText after the header
	QuoteHeader  bool
	BOM, CRLF    bool
	Truncated    bool // the last line ends in the middle
	TimeLast     bool // the stamp is the last column
	ClockOffsetS float64
	ClockPPM     float64
	// FromS and ToS limit the file to part of the hop; ToS 0 stands for its end.
	FromS, ToS float64
}

// TimeForm is a way to write stamps.
type TimeForm string

// The forms of stamps. Counters count from the logger's start, so that a stamp is
// ClockOffsetS + (1 + ClockPPM 1e-6) t; the others add that to Scenario.StartedAt.
const (
	Seconds      TimeForm = "s"
	Milliseconds TimeForm = "ms"
	Microseconds TimeForm = "us"
	Wrapping     TimeForm = "us, 32 bit" // microseconds that wrap at 2^32
	EpochSeconds TimeForm = "epoch s"
	EpochMS      TimeForm = "epoch ms"
	ISO          TimeForm = "iso8601"       // 2031-05-04T06:12:00.000Z
	ISOBlank     TimeForm = "iso8601 blank" // 2031-05-04 06:12:00.000, quoted
	DayTime      TimeForm = "hh:mm:ss"
	DateAndTime  TimeForm = "date and time" // two columns
)

// TimeDress is the column of stamps.
type TimeDress struct {
	Name     string
	UnitText string
	Form     TimeForm
	Decimals int
}

// wall reports whether the stamps tell the time of day.
func (t TimeDress) wall() bool {
	switch t.Form {
	case EpochSeconds, EpochMS, ISO, ISOBlank, DayTime, DateAndTime:
		return true
	}
	return false
}

// ColumnDress is one column and the truth about it: written = Neutral + Sign * value in Unit,
// or, of pulse_us and counts, Neutral + Sign * FullThrow * travel.
type ColumnDress struct {
	Name     string // as written in the header
	UnitText string // for a units row
	Quantity flight.Quantity
	Unit     flight.Unit
	Sign     int // 0 stands for 1
	Decimals int
	Neutral  float64
	// FullThrow in written units, of sticks in pulse_us and counts.
	FullThrow float64
	// Dead is the width on either side of Neutral, in written units, in which the reading
	// sticks to Neutral.
	Dead float64
	// Signed headings run over -180 to 180 instead of 0 to 360.
	Signed bool
}

func (c ColumnDress) sign() float64 {
	if c.Sign == -1 {
		return -1
	}
	return 1
}

// written turns an SI value into the number in the file.
func (c ColumnDress) written(v float64) float64 {
	switch c.Unit {
	case flight.PulseUs, flight.Counts:
		d := c.sign() * c.FullThrow * v
		if d > -c.Dead && d < c.Dead {
			d = 0
		}
		return c.Neutral + d
	}
	scale, _, ok := c.Unit.Scale()
	if !ok {
		scale = 1
	}
	if (c.Quantity == flight.Heading || c.Quantity == flight.WindDirectionFrom) && c.Signed && v > 3.141592653589793 {
		v -= 2 * 3.141592653589793
	}
	return c.Neutral + c.sign()*v/scale
}
