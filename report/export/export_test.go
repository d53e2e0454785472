package export

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/parquet-go/parquet-go"

	"hopcard/flight"
)

// twoLoggers is a hop of an attitude log with a gap and a stick log, and a third whose
// clock is not known.
func twoLoggers() *flight.Hop {
	roll := flight.Channel{Quantity: flight.Roll, Column: "roll", Unit: flight.Deg, Sign: 1, Sure: 1}
	for i := range 101 {
		if i > 40 && i < 60 {
			continue
		}
		roll.TimeS = append(roll.TimeS, float64(i)/50)
		roll.Value = append(roll.Value, 0.1*math.Pi/180)
	}
	roll.Value[3] = math.NaN()
	stick := flight.Channel{Quantity: flight.LatStick, Column: "x", Unit: flight.UnitTravel, Guessed: true, Sign: -1, Sure: 0.8, Source: 1,
		TimeS: []float64{-0.05, 0.05, 0.15, 0.25}, Value: []float64{0, 0.1, 0.2, 0.3}}
	second := stick
	second.TimeS, second.Value = []float64{0}, []float64{-0.5}
	lost := flight.Channel{Quantity: flight.WindSpeed, Source: 2, TimeS: []float64{0, 1}, Value: []float64{3, 4}}
	return &flight.Hop{
		Name: "h1", DurationS: 2, Configuration: "light bar",
		Channels: []flight.Channel{lost, second, stick, roll},
		Sources: []flight.Source{
			{File: "a.csv", Rows: 82, RateHz: 50, SHA256: "00ff", Clock: flight.Clock{AlignedBy: flight.AlignUTC}},
			{File: "=cmd|' /C calc'!A1.csv", RateHz: 10, Clock: flight.Clock{OffsetS: 7, AlignedBy: flight.AlignUTC, IntervalS: math.NaN()}},
			{File: "wind.csv", Clock: flight.Clock{AlignedBy: flight.AlignNone}},
		},
		Findings: []flight.Finding{{Code: flight.CodeGap, Severity: flight.Caution, File: "a.csv", Text: "no rows <here>"}},
	}
}

func contents(t *testing.T, h *flight.Hop, rateHz float64) *Contents {
	t.Helper()
	c, err := Of(h, Options{RateHz: rateHz, Version: "1.2"})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func text(t *testing.T, write func(context.Context, io.Writer) error) string {
	t.Helper()
	var b bytes.Buffer
	if err := write(t.Context(), &b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestName(t *testing.T) {
	for q, want := range map[flight.Quantity]string{
		flight.Roll: "roll_deg", flight.Heading: "heading_deg", flight.RollRate: "roll_rate_deg_s", flight.AccelZ: "acceleration_z_m_s2",
		flight.LatStick: "lateral_stick_percent", flight.RotorSpeed: "rotor_speed_rpm", flight.WindDirectionFrom: "wind_direction_from_deg",
		flight.WindSpeed: "wind_speed_m_s", flight.Height: "height_m", flight.QuaternionW: "quaternion_w",
	} {
		if got := Name(q); got != want {
			t.Errorf("%s is named %q, want %q", q, got, want)
		}
	}
}

func TestWhatIsExported(t *testing.T) {
	c := contents(t, twoLoggers(), 0)
	if got, want := c.Channels(), []string{"roll_deg", "lateral_stick_percent", "lateral_stick_percent_2"}; !slices.Equal(got, want) {
		t.Errorf("channels %q, want %q", got, want)
	}
	if len(c.LeftOut) != 1 || !strings.HasPrefix(c.LeftOut[0], "wind.csv: its clock") {
		t.Errorf("left out: %q", c.LeftOut)
	}
	alone := &flight.Hop{Sources: []flight.Source{{Clock: flight.Clock{AlignedBy: flight.AlignNone}}},
		Channels: []flight.Channel{{Quantity: flight.WindSpeed, TimeS: []float64{0, 1}, Value: []float64{3, 4}}}}
	if c := contents(t, alone, 0); len(c.Channels()) != 1 || len(c.LeftOut) != 0 {
		t.Errorf("a log alone needs no common clock: %q, left out %q", c.Channels(), c.LeftOut)
	}
	if _, err := Of(&flight.Hop{Name: "none"}, Options{}); err == nil {
		t.Error("a hop without a channel is exported")
	}
	attitude := &flight.Hop{Sources: make([]flight.Source, 1), Channels: []flight.Channel{
		{Quantity: flight.QuaternionW, TimeS: []float64{0, 1}, Value: []float64{1, 1}},
		{Quantity: flight.Roll, TimeS: []float64{0, 1}, Value: []float64{0, 0}}}}
	if c := contents(t, attitude, 10); !slices.Equal(c.Channels(), []string{"roll_deg"}) || len(c.LeftOut) != 1 {
		t.Errorf("quaternions at a rate: %q, left out %q", c.Channels(), c.LeftOut)
	}
}

func TestSamplesCSV(t *testing.T) {
	got := text(t, contents(t, twoLoggers(), 0).CSV)
	lines := strings.Split(got, "\n")
	if lines[0] != "channel,file,time_s,value" || lines[1] != "roll_deg,a.csv,0,0.1" || lines[4] != "roll_deg,a.csv,0.06," {
		t.Errorf("first lines %q", lines[:5])
	}
	if want := "lateral_stick_percent_2,'=cmd|' /C calc'!A1.csv,0.25,30"; lines[len(lines)-2] != want {
		t.Errorf("last line %q, want %q", lines[len(lines)-2], want)
	}
	if len(lines) != 1+82+1+4+1 {
		t.Errorf("%d lines", len(lines))
	}
}

func TestTimesCSV(t *testing.T) {
	records, err := csv.NewReader(strings.NewReader(text(t, contents(t, twoLoggers(), 25).CSV))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if want := []string{"time_s", "roll_deg", "lateral_stick_percent", "lateral_stick_percent_2"}; !slices.Equal(records[0], want) {
		t.Errorf("header %q, want %q", records[0], want)
	}
	at := map[string][]string{}
	for _, r := range records[1:] {
		at[r[0]] = r
	}
	// The gap from 0.80 to 1.20 s is not bridged and leaves no row at all behind.
	for _, in := range []string{"0.84", "1", "1.16"} {
		if r, ok := at[in]; ok {
			t.Errorf("a row %q in the gap", r)
		}
	}
	for _, c := range []struct{ t, roll, stick string }{{"-0.04", "", "1"}, {"0", "0.1", "5"}, {"0.8", "0.1", ""}, {"1.2", "0.1", ""}, {"2", "0.1", ""}} {
		r := at[c.t]
		if r == nil {
			t.Errorf("no row at %s s", c.t)
			continue
		}
		if r[1] != c.roll || (r[3] == "") != (c.stick == "") {
			t.Errorf("row %q, want roll %q and a stick near %q", r, c.roll, c.stick)
		}
		if c.stick != "" {
			// A ramp stays one, between and at the ends of the record.
			got, _ := strconv.ParseFloat(r[3], 64)
			want, _ := strconv.ParseFloat(c.stick, 64)
			if math.Abs(got-want) > 0.05 {
				t.Errorf("stick at %s s is %g %%, want %g", c.t, got, want)
			}
		}
	}
}

func TestParquetReadsBack(t *testing.T) {
	h := twoLoggers()
	for _, rate := range []float64{0, 25} {
		c := contents(t, h, rate)
		data := text(t, c.Parquet)
		if again := text(t, contents(t, h, rate).Parquet); again != data {
			t.Error("the same hop gives different bytes")
		}
		f, err := parquet.OpenFile(strings.NewReader(data), int64(len(data)))
		if err != nil {
			t.Fatal(err)
		}
		records, err := csv.NewReader(strings.NewReader(text(t, c.CSV))).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		compare(t, f, records)
		origin, ok := f.Lookup(MetadataKey)
		var o originJSON
		if err := json.Unmarshal([]byte(origin), &o); !ok || err != nil {
			t.Fatalf("metadata %q: %v", origin, err)
		}
		if o.Hop != "h1" || o.Version != "1.2" || o.Sources[0].SHA256 != "00ff" || o.Sources[1].ClockOffsetS != 7 ||
			o.Channels[1].Unit != flight.Percent || o.Channels[1].Sign != -1 || o.Findings[0].Text != "no rows <here>" ||
			len(o.LeftOut) != 1 || (o.Resampling != "") != (rate > 0) {
			t.Errorf("metadata %+v", o)
		}
	}
}

// compare checks a Parquet file against the records of the same table as CSV.
func compare(t *testing.T, f *parquet.File, records [][]string) {
	t.Helper()
	for i, field := range f.Schema().Fields() {
		if field.Name() != records[0][i] {
			t.Errorf("column %d is %q, want %q", i, field.Name(), records[0][i])
		}
	}
	if f.NumRows() != int64(len(records)-1) {
		t.Fatalf("%d rows, want %d", f.NumRows(), len(records)-1)
	}
	row := 1
	for _, group := range f.RowGroups() {
		rows := group.Rows()
		defer rows.Close()
		for {
			buf := make([]parquet.Row, 64)
			n, err := rows.ReadRows(buf)
			for _, r := range buf[:n] {
				for _, v := range r {
					if want := records[row][v.Column()]; !sameCell(v, want) {
						t.Errorf("row %d, column %d is %v, want %q", row, v.Column(), v, want)
					}
				}
				row++
			}
			if errors.Is(err, io.EOF) {
				break
			}
			if err != nil {
				t.Fatal(err)
			}
		}
	}
	if row != len(records) {
		t.Errorf("%d rows read, want %d", row-1, len(records)-1)
	}
}

func sameCell(v parquet.Value, want string) bool {
	switch {
	case v.IsNull():
		return want == ""
	case v.Kind() == parquet.Double:
		x, err := strconv.ParseFloat(want, 64)
		return err == nil && math.Abs(v.Double()-x) <= 1e-8*math.Abs(x)
	}
	return v.String() == strings.TrimPrefix(want, "'")
}

func TestExportRefuses(t *testing.T) {
	h := twoLoggers()
	for _, rate := range []float64{-1, math.NaN(), math.Inf(1), 20_000} {
		c := contents(t, h, 1)
		c.options.RateHz = rate
		if _, _, err := c.resampled(t.Context()); err == nil {
			t.Errorf("a rate of %g Hz is taken", rate)
		}
	}
	h.Channels[3].TimeS[81] = 1e8 // a stamp that ran away
	c := contents(t, h, 100)
	if err := c.CSV(t.Context(), io.Discard); err == nil || !strings.Contains(err.Error(), "lower rate") {
		t.Errorf("a table of years: %v", err)
	}
	ctx, cancel := context.WithCancel(t.Context())
	cancel()
	for _, rate := range []float64{0, 25} {
		c := contents(t, twoLoggers(), rate)
		if err := c.CSV(ctx, io.Discard); !errors.Is(err, context.Canceled) {
			t.Errorf("cancelled CSV: %v", err)
		}
		if err := c.Parquet(ctx, io.Discard); !errors.Is(err, context.Canceled) {
			t.Errorf("cancelled Parquet: %v", err)
		}
		if err := c.CSV(t.Context(), broken{}); !errors.Is(err, errFull) {
			t.Errorf("full disk, CSV: %v", err)
		}
		if err := c.Parquet(t.Context(), broken{}); !errors.Is(err, errFull) {
			t.Errorf("full disk, Parquet: %v", err)
		}
	}
}

type broken struct{}

var errFull = errors.New("disk full")

func (broken) Write([]byte) (int, error) { return 0, errFull }

func TestNumbersAsText(t *testing.T) {
	for x, want := range map[float64]string{
		0: "0", math.Copysign(0, -1): "0", 0.1 * math.Pi / 180 * (180 / math.Pi): "0.1", -1e-7: "-1e-07", 123456.789: "123456.789",
		1e300: "1e+300", math.NaN(): "", math.Inf(-1): "",
	} {
		if got := valueText(x); got != want {
			t.Errorf("%g is written %q, want %q", x, got, want)
		}
	}
	if got := timeText(0.1 + 0.2); got != "0.3" {
		t.Errorf("time is written %q", got)
	}
}

func TestInert(t *testing.T) {
	for in, want := range map[string]string{
		"a.csv": "a.csv", "=1+1": "'=1+1", "+x": "'+x", "-x": "'-x", "@x": "'@x", "\t=1": "'=1", "a\x1b[2Jb\n": "a[2Jb", "": "",
	} {
		if got := inert(in); got != want {
			t.Errorf("inert(%q) = %q, want %q", in, got, want)
		}
	}
}
