package simulate

import (
	"bytes"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"github.com/gocarina/gocsv"

	"hopcard/flight"
)

// Write writes the flight's logs into dir, which it makes if need be, as the dress says. A
// file that is already there is not touched: the error wraps os.ErrExist. Each file is
// complete or not there.
func (f *Flight) Write(dir string, d Dress) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	for _, file := range d.Files {
		data, err := f.Log(file)
		if err != nil {
			return err
		}
		if err := create(filepath.Join(dir, file.Name), data); err != nil {
			return err
		}
	}
	if d.MarksFile != "" {
		data, err := marksTable(d.Marks)
		if err != nil {
			return err
		}
		if err := create(filepath.Join(dir, d.MarksFile), data); err != nil {
			return err
		}
	}
	if d.NotesFile != "" {
		data, err := f.notesTable(d.NoteTimesS)
		if err != nil {
			return err
		}
		return create(filepath.Join(dir, d.NotesFile), data)
	}
	return nil
}

// create writes a new file by way of one beside it.
func create(path string, data []byte) error {
	if _, err := os.Lstat(path); !errors.Is(err, os.ErrNotExist) {
		if err == nil {
			err = os.ErrExist
		}
		return fmt.Errorf("%s: %w", path, err)
	}
	tmp, err := os.CreateTemp(filepath.Dir(path), ".part-*")
	if err != nil {
		return err
	}
	defer os.Remove(tmp.Name()) // gone already when all went well
	_, err = tmp.Write(data)
	if err := errors.Join(err, tmp.Chmod(0o644), tmp.Close()); err != nil {
		return err
	}
	return os.Rename(tmp.Name(), path)
}

// Log returns the bytes of one logger's file. The error says which column cannot be
// written.
func (f *Flight) Log(d FileDress) ([]byte, error) {
	to := d.ToS
	if to == 0 {
		to = f.DurationS()
	}
	if !(d.RateHz > 0) {
		return nil, fmt.Errorf("simulate: %s: no sample rate", d.Name)
	}
	w := &logWriter{d: d, start: f.Scenario.StartedAt, hop: stamps(d.FromS, to, d.RateHz)}
	i := newInstruments(f)
	for _, c := range d.Columns {
		if c.Quantity == flight.Time || c.Quantity == "" {
			return nil, fmt.Errorf("simulate: %s: column %q has no quantity to write", d.Name, c.Name)
		}
		w.values = append(w.values, i.column(c.Quantity, w.hop))
	}
	w.header()
	w.rows()
	out := w.out
	if d.Truncated && len(out) > 10 {
		out = out[:len(out)-7]
	}
	return out, nil
}

// column reads a quantity, a quaternion from the attitudes.
func (i *instruments) column(q flight.Quantity, timeS []float64) []float64 {
	part := map[flight.Quantity]int{
		flight.QuaternionW: 0, flight.QuaternionX: 1, flight.QuaternionY: 2, flight.QuaternionZ: 3,
	}
	k, ok := part[q]
	if !ok {
		return i.read(q, timeS)
	}
	roll, pitch, yaw := i.read(flight.Roll, timeS), i.read(flight.Pitch, timeS), i.read(flight.Heading, timeS)
	v := make([]float64, len(timeS))
	for j := range v {
		v[j] = quaternion(roll[j], pitch[j], yaw[j])[k]
	}
	return v
}

// quaternion turns yaw, pitch, roll (in that order, about z, y, x) into w, x, y, z.
func quaternion(roll, pitch, yaw float64) [4]float64 {
	sr, cr := math.Sincos(roll / 2)
	sp, cp := math.Sincos(pitch / 2)
	sy, cy := math.Sincos(yaw / 2)
	return [4]float64{
		cr*cp*cy + sr*sp*sy, sr*cp*cy - cr*sp*sy, cr*sp*cy + sr*cp*sy, cr*cp*sy - sr*sp*cy,
	}
}

// logWriter builds one file in memory.
type logWriter struct {
	d      FileDress
	start  time.Time
	hop    []float64
	values [][]float64
	out    []byte
}

func (w *logWriter) delimiter() byte {
	if w.d.Delimiter == 0 {
		return ','
	}
	return w.d.Delimiter
}

func (w *logWriter) endLine() {
	if w.d.CRLF {
		w.out = append(w.out, '\r')
	}
	w.out = append(w.out, '\n')
}

func (w *logWriter) header() {
	if w.d.BOM {
		w.out = append(w.out, 0xEF, 0xBB, 0xBF)
	}
	for _, c := range w.d.Comments {
		w.out = append(w.out, c...)
		w.endLine()
	}
	names, units := []string{}, []string{}
	for _, c := range w.d.Columns {
		names, units = append(names, c.Name), append(units, c.UnitText)
	}
	stamp, stampUnit := []string{w.d.Time.Name}, []string{w.d.Time.UnitText}
	if w.d.Time.Form == DateAndTime {
		stamp, stampUnit = []string{"date", w.d.Time.Name}, []string{"", w.d.Time.UnitText}
	}
	if w.d.TimeLast {
		names, units = append(names, stamp...), append(units, stampUnit...)
	} else {
		names, units = append(stamp, names...), append(stampUnit, units...)
	}
	if !w.d.NoHeader {
		w.textRow(names)
	}
	if w.d.UnitsRow {
		w.textRow(units)
	}
}

func (w *logWriter) textRow(cells []string) {
	for k, c := range cells {
		if k > 0 {
			w.out = append(w.out, w.delimiter())
		}
		if w.d.QuoteHeader || bytes.IndexByte([]byte(c), w.delimiter()) >= 0 {
			c = `"` + c + `"`
		}
		w.out = append(w.out, c...)
	}
	w.endLine()
}

func (w *logWriter) rows() {
	w.out = append(make([]byte, 0, len(w.out)+len(w.hop)*(16+8*len(w.values))), w.out...)
	for k, t := range w.hop {
		if !w.d.TimeLast {
			w.stamp(t)
			w.out = append(w.out, w.delimiter())
		}
		for j, c := range w.d.Columns {
			if j > 0 {
				w.out = append(w.out, w.delimiter())
			}
			w.number(c.written(w.values[j][k]), c.Decimals)
		}
		if w.d.TimeLast {
			w.out = append(w.out, w.delimiter())
			w.stamp(t)
		}
		w.endLine()
	}
}

func (w *logWriter) number(v float64, decimals int) {
	from := len(w.out)
	w.out = strconv.AppendFloat(w.out, v, 'f', decimals, 64)
	if w.d.DecimalComma {
		if k := bytes.IndexByte(w.out[from:], '.'); k >= 0 {
			w.out[from+k] = ','
		}
	}
}

// stamp writes the stamp of a hop time.
func (w *logWriter) stamp(tS float64) {
	s := w.d.ClockOffsetS + (1+w.d.ClockPPM*1e-6)*tS
	wall := w.start.UTC().Add(time.Duration(math.Round(s * 1e9)))
	switch w.d.Time.Form {
	case Milliseconds:
		w.number(s*1e3, w.d.Time.Decimals)
	case Microseconds:
		w.number(s*1e6, w.d.Time.Decimals)
	case Wrapping:
		w.number(math.Mod(math.Round(s*1e6), 1<<32), 0)
	case EpochSeconds:
		w.number(float64(w.start.Unix())+s, w.d.Time.Decimals)
	case EpochMS:
		w.number(float64(w.start.Unix())*1e3+s*1e3, w.d.Time.Decimals)
	case ISO:
		w.clock(wall, "2006-01-02T15:04:05", "Z")
	case ISOBlank:
		w.out = append(w.out, '"')
		w.clock(wall, "2006-01-02 15:04:05", `"`)
	case DayTime:
		w.clock(wall, "15:04:05", "")
	case DateAndTime:
		w.out = wall.AppendFormat(w.out, "2006-01-02")
		w.out = append(w.out, w.delimiter())
		w.clock(wall, "15:04:05", "")
	default:
		w.number(s, w.d.Time.Decimals)
	}
}

// clock writes a wall time, rounded to the stamp's decimals.
func (w *logWriter) clock(t time.Time, layout, end string) {
	n := w.d.Time.Decimals
	t = t.Round(time.Duration(math.Pow10(9 - n)))
	w.out = t.AppendFormat(w.out, layout)
	if n > 0 {
		mark := byte('.')
		if w.d.DecimalComma {
			mark = ','
		}
		w.out = append(w.out, mark)
		digits := fmt.Sprintf("%09d", t.Nanosecond())
		w.out = append(w.out, digits[:n]...)
	}
	w.out = append(w.out, end...)
}

// noteRow and markRow are the tables that people write by hand.
type noteRow struct {
	Time      string `csv:"time"`
	Mean      string `csv:"mean_kt"`
	Gust      string `csv:"gust_kt"`
	Direction string `csv:"direction_deg"`
}

type markRow struct {
	Time string `csv:"time_s"`
	Text string `csv:"text"`
}

func marksTable(marks []flight.MarkSettings) ([]byte, error) {
	var rows []markRow
	for _, m := range marks {
		rows = append(rows, markRow{strconv.FormatFloat(m.TimeS, 'f', 1, 64), m.Text})
	}
	return gocsv.MarshalBytes(rows)
}

func (f *Flight) notesTable(timesS []float64) ([]byte, error) {
	knot := 1852.0 / 3600
	var rows []noteRow
	for _, t := range timesS {
		span := flight.Span{FromS: max(t-60, 0), ToS: max(t, 4)}
		w := windTruth(f, f.MastNorth, f.MastEast, span)
		rows = append(rows, noteRow{
			Time:      f.Scenario.StartedAt.UTC().Add(time.Duration(t * 1e9)).Format("15:04"),
			Mean:      strconv.FormatFloat(math.Round(w.MeanMS/knot), 'f', 0, 64),
			Gust:      strconv.FormatFloat(math.Round(w.Gust3sMS/knot), 'f', 0, 64),
			Direction: strconv.FormatFloat(10*math.Round(w.DirectionFromRad*18/math.Pi), 'f', 0, 64),
		})
	}
	return gocsv.MarshalBytes(rows)
}
