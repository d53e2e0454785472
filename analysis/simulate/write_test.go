package simulate

import (
	"bytes"
	"encoding/csv"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"hopcard/flight"
)

var start = time.Date(2031, 5, 4, 23, 59, 50, 0, time.UTC) // the hop runs over midnight

func written(t *testing.T) *Flight {
	t.Helper()
	s := scenario(Leg{Kind: Doublet, Axis: flight.RollAxis, LengthS: 1.4, Amplitude: 0.1}, Leg{Kind: Hover, LengthS: 5})
	s.Air = Air{Mean: Constant(3), DirectionFrom: Constant(1), Gusts: 3}
	s.StartedAt, s.StepS = start, 0.01
	return Fly(s)
}

// parse reads a log back by its dress, with encoding/csv, into stamps in s and SI values.
func parse(t *testing.T, data []byte, d FileDress) (stampS []float64, columns [][]float64) {
	t.Helper()
	data = bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF"))
	r := csv.NewReader(bytes.NewReader(data))
	r.Comma, r.FieldsPerRecord, r.LazyQuotes = rune(d.Delimiter), -1, true
	if d.Delimiter == 0 {
		r.Comma = ','
	}
	rows, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	rows = rows[len(d.Comments):]
	if !d.NoHeader {
		rows = rows[1:]
	}
	if d.UnitsRow {
		rows = rows[1:]
	}
	if d.Truncated {
		rows = rows[:len(rows)-1]
	}
	columns = make([][]float64, len(d.Columns))
	for _, row := range rows {
		n := len(row) - len(d.Columns)
		cells, stamp := row[n:], row[:n]
		if d.TimeLast {
			cells, stamp = row[:len(d.Columns)], row[len(d.Columns):]
		}
		stampS = append(stampS, parseStamp(t, stamp, d))
		for k, cell := range cells {
			v, err := strconv.ParseFloat(strings.ReplaceAll(cell, ",", "."), 64)
			if err != nil {
				t.Fatalf("%s: %v", d.Columns[k].Name, err)
			}
			columns[k] = append(columns[k], toSI(d.Columns[k], v))
		}
	}
	return stampS, columns
}

func toSI(c ColumnDress, v float64) float64 {
	v = c.sign() * (v - c.Neutral)
	if c.Unit == flight.PulseUs || c.Unit == flight.Counts {
		return v / c.FullThrow
	}
	if scale, _, ok := c.Unit.Scale(); ok {
		return v * scale
	}
	return v
}

func parseStamp(t *testing.T, cells []string, d FileDress) float64 {
	t.Helper()
	text := strings.ReplaceAll(cells[len(cells)-1], ",", ".")
	day := start.Truncate(24 * time.Hour)
	clock := func(layout, text string) float64 {
		at, err := time.Parse(layout, text)
		if err != nil {
			t.Fatal(err)
		}
		return at.Sub(start).Seconds()
	}
	number := func() float64 {
		v, err := strconv.ParseFloat(text, 64)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	switch d.Time.Form {
	case ISO:
		return clock("2006-01-02T15:04:05.999Z", text)
	case ISOBlank:
		return clock("2006-01-02 15:04:05.999", text)
	case DateAndTime:
		return clock("2006-01-02 15:04:05.999", cells[0]+" "+text)
	case DayTime:
		s := clock("2006-01-02 15:04:05.999", day.Format("2006-01-02")+" "+text)
		if s < -1 {
			s += 86400
		}
		return s
	case EpochSeconds:
		return number() - float64(start.Unix())
	case EpochMS:
		return number()/1e3 - float64(start.Unix())
	case Milliseconds:
		return number() / 1e3
	case Microseconds, Wrapping:
		return number() / 1e6
	}
	return number()
}

// Every form of stamp and column reads back as what was flown, within the last digit and
// the sensor's noise.
func TestLogsReadBack(t *testing.T) {
	f := written(t)
	base := FileDress{RateHz: 25, ClockOffsetS: 12.345, ClockPPM: 500, Columns: []ColumnDress{
		{Name: "roll", Quantity: flight.Roll, Unit: flight.Deg, Decimals: 2},
		{Name: "q", Quantity: flight.PitchRate, Unit: flight.RadPerS, Decimals: 4, Sign: -1},
		{Name: "lat", Quantity: flight.LatStick, Unit: flight.PulseUs, Neutral: 1510, FullThrow: 400},
		{Name: "lon", Quantity: flight.LonStick, Unit: flight.Counts, Neutral: 509, FullThrow: 470, Sign: -1},
		{Name: "wind", Quantity: flight.WindSpeed, Unit: flight.Knot, Decimals: 1},
	}}
	step := []float64{0.01 * deg, 1e-4, 1.0 / 400, 1.0 / 470, 0.1 * 1852 / 3600}
	for _, c := range []struct {
		name   string
		change func(*FileDress)
	}{
		{"plain", func(d *FileDress) { d.Time = TimeDress{Name: "t", UnitText: "s", Form: Seconds, Decimals: 4} }},
		{"ms", func(d *FileDress) { d.Time = TimeDress{Name: "t", UnitText: "ms", Form: Milliseconds, Decimals: 1} }},
		{"us", func(d *FileDress) { d.Time = TimeDress{Name: "t", UnitText: "us", Form: Microseconds, Decimals: 0} }},
		{"iso", func(d *FileDress) { d.Time = TimeDress{Name: "t", UnitText: "", Form: ISO, Decimals: 3} }},
		{"iso comma", func(d *FileDress) {
			d.Time, d.DecimalComma, d.Delimiter = TimeDress{Name: "t", UnitText: "", Form: ISOBlank, Decimals: 3}, true, ';'
		}},
		{"date and time", func(d *FileDress) {
			d.Time, d.UnitsRow = TimeDress{Name: "t", UnitText: "", Form: DateAndTime, Decimals: 3}, true
		}},
		{"day time", func(d *FileDress) {
			d.Time, d.Delimiter = TimeDress{Name: "t", UnitText: "", Form: DayTime, Decimals: 3}, '\t'
		}},
		{"epoch", func(d *FileDress) {
			d.Time, d.TimeLast = TimeDress{Name: "t", UnitText: "", Form: EpochSeconds, Decimals: 3}, true
		}},
		{"epoch ms", func(d *FileDress) {
			d.Time, d.Truncated = TimeDress{Name: "t", UnitText: "", Form: EpochMS, Decimals: 0}, true
		}},
		{"dressed up", func(d *FileDress) {
			d.Time = TimeDress{Name: "t", UnitText: "s", Form: Seconds, Decimals: 4}
			d.BOM, d.CRLF, d.QuoteHeader, d.Comments, d.FromS = true, true, true, []string{"# a", "# b"}, 1.25
		}},
		{"no header", func(d *FileDress) {
			d.Time, d.NoHeader, d.ToS = TimeDress{Name: "t", UnitText: "s", Form: Seconds, Decimals: 4}, true, 30
		}},
	} {
		t.Run(c.name, func(t *testing.T) {
			d := base
			c.change(&d)
			data, err := f.Log(d)
			if err != nil {
				t.Fatal(err)
			}
			stamp, columns := parse(t, data, d)
			to := d.ToS
			if to == 0 {
				to = f.DurationS()
			}
			if want := len(stamps(d.FromS, to, 25)); len(stamp) < want-1 || len(stamp) > want {
				t.Fatalf("%d rows, want %d", len(stamp), want)
			}
			in := newInstruments(f)
			hop := stamps(d.FromS, to, 25)[:len(stamp)]
			for k := range stamp {
				if want := 12.345 + 1.0005*hop[k]; math.Abs(stamp[k]-want) > 6e-4 {
					t.Fatalf("row %d stamped %.4f, want %.4f", k, stamp[k], want)
				}
			}
			for j, col := range d.Columns {
				want := in.read(col.Quantity, stamps(d.FromS, to, 25))
				for k, v := range columns[j] {
					if math.Abs(v-want[k]) > 0.501*step[j] {
						t.Fatalf("%s row %d: %g, want %g", col.Name, k, v, want[k])
					}
				}
			}
		})
	}
}

func TestWrappingCounter(t *testing.T) {
	f := written(t)
	d := FileDress{RateHz: 10, ClockOffsetS: 4290, Time: TimeDress{Name: "t", UnitText: "us", Form: Wrapping, Decimals: 0},
		Columns: []ColumnDress{{Name: "roll", Quantity: flight.Roll, Unit: flight.Deg, Decimals: 2}}}
	data, err := f.Log(d)
	if err != nil {
		t.Fatal(err)
	}
	stamp, _ := parse(t, data, d)
	if stamp[0] != 4290 || stamp[49] > 4294.97 || stamp[50] > 1 {
		t.Errorf("stamps %g, %g, %g: no wrap at 4294.97 s", stamp[0], stamp[49], stamp[50])
	}
}

func TestQuaternionsAreUnitAndTurnBack(t *testing.T) {
	for _, a := range [][3]float64{{0.1, -0.2, 1}, {-0.3, 0.05, 4}, {0, 0, 0}} {
		q := quaternion(a[0], a[1], a[2])
		w, x, y, z := q[0], q[1], q[2], q[3]
		roll := math.Atan2(2*(w*x+y*z), 1-2*(x*x+y*y))
		pitch := math.Asin(2 * (w*y - z*x))
		yaw := wrap(math.Atan2(2*(w*z+x*y), 1-2*(y*y+z*z)))
		for k, v := range []float64{roll, pitch, yaw} {
			if math.Abs(v-a[k]) > 1e-12 {
				t.Errorf("%v comes back as %g %g %g", a, roll, pitch, yaw)
			}
		}
	}
}

func TestRandomDressIsSeededAndWritable(t *testing.T) {
	f := written(t)
	seen := map[TimeForm]bool{}
	for k := range 30 {
		a := RandomDress(rand.New(rand.NewPCG(uint64(k), 1)))
		b := RandomDress(rand.New(rand.NewPCG(uint64(k), 1)))
		quantities := map[flight.Quantity]bool{}
		for j, file := range a.Files {
			seen[file.Time.Form] = true
			one, err := f.Log(file)
			if err != nil {
				t.Fatal(err)
			}
			two, err := f.Log(b.Files[j])
			if err != nil || !bytes.Equal(one, two) {
				t.Fatalf("draw %d, %s: two draws of one seed differ (%v)", k, file.Name, err)
			}
			for _, c := range file.Columns {
				if quantities[c.Quantity] {
					t.Errorf("draw %d: %s twice", k, c.Quantity)
				}
				quantities[c.Quantity] = true
			}
			if file.Delimiter == ' ' {
				continue // runs of blanks and quotes: not encoding/csv's business
			}
			parse(t, one, file)
		}
		if !quantities[flight.Roll] || !quantities[flight.LatStick] {
			t.Errorf("draw %d lacks roll or stick", k)
		}
	}
	if len(seen) < 7 {
		t.Errorf("only the stamps %v were drawn", seen)
	}
}

func TestWriteNeverOverwrites(t *testing.T) {
	f := written(t)
	dir := t.TempDir()
	path := filepath.Join(dir, "rec.csv")
	if err := os.WriteFile(path, []byte("mine"), 0o644); err != nil {
		t.Fatal(err)
	}
	d := Dress{Files: []FileDress{{Name: "rec.csv", RateHz: 10, Columns: []ColumnDress{{Name: "roll", Quantity: flight.Roll, Unit: flight.Deg}}}}}
	if err := f.Write(dir, d); !errors.Is(err, os.ErrExist) {
		t.Errorf("error %v, want one that says it exists", err)
	}
	if data, _ := os.ReadFile(path); string(data) != "mine" {
		t.Errorf("the file now reads %q", data)
	}
	d.Files[0].RateHz = 0
	if _, err := f.Log(d.Files[0]); err == nil {
		t.Error("no error without a rate")
	}
}
