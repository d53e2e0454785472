package export

import (
	"context"
	"encoding/csv"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode"

	"github.com/gocarina/gocsv"
)

// Digits of exported text: nanoseconds, and of a value more digits than any logger writes,
// but few enough to hide that 0.1 deg is no exact number of radians.
const (
	timeDecimals = 9
	valueDigits  = 9
)

// chunk is how many rows are written between two looks at the context.
const chunk = 4096

// sampleRow is a row of a table of samples.
type sampleRow struct {
	Channel string `csv:"channel"`
	File    string `csv:"file"`
	TimeS   string `csv:"time_s"`
	Value   string `csv:"value"`
}

// CSV writes the table as text: commas, decimal points, a header. Cells without a number
// are empty. The error is the context's or one of w.
func (c *Contents) CSV(ctx context.Context, w io.Writer) error {
	if c.options.RateHz > 0 {
		return c.timesCSV(ctx, w)
	}
	rows := make([]sampleRow, 0, chunk)
	marshal := gocsv.Marshal
	for _, col := range c.columns {
		ch, file := col.channel, inert(col.source.File)
		for from := 0; from < ch.Len(); from += chunk {
			if err := ctx.Err(); err != nil {
				return err
			}
			rows = rows[:0]
			for i := from; i < min(from+chunk, ch.Len()); i++ {
				rows = append(rows, sampleRow{col.name, file, timeText(ch.TimeS[i]), valueText(ch.Value[i] * col.fromSI)})
			}
			if err := marshal(rows, w); err != nil {
				return err
			}
			marshal = gocsv.MarshalWithoutHeaders
		}
	}
	return nil
}

func (c *Contents) timesCSV(ctx context.Context, w io.Writer) error {
	g, columns, err := c.resampled(ctx)
	if err != nil {
		return err
	}
	out := csv.NewWriter(w)
	record := append([]string{"time_s"}, c.Channels()...)
	if err := out.Write(record); err != nil {
		return err
	}
	for i, t := range g.times() {
		if i%chunk == 0 && ctx.Err() != nil {
			return ctx.Err()
		}
		record = append(record[:0], timeText(t))
		for _, col := range columns {
			record = append(record, valueText(col[i]))
		}
		if err := out.Write(record); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

func timeText(t float64) string { return shortest(strconv.FormatFloat(t, 'f', timeDecimals, 64)) }

func valueText(x float64) string {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return ""
	}
	return shortest(strconv.FormatFloat(x, 'g', valueDigits, 64))
}

// shortest is a number without digits that say nothing.
func shortest(number string) string {
	x, err := strconv.ParseFloat(number, 64)
	if err != nil {
		panic("export: " + number + " is no number")
	}
	if x == 0 {
		return "0" // not -0
	}
	if math.Abs(x) >= 1e-4 && math.Abs(x) < 1e15 {
		return strconv.FormatFloat(x, 'f', -1, 64)
	}
	return strconv.FormatFloat(x, 'g', -1, 64)
}

// inert is text from outside for a cell: graphic characters only, and with an apostrophe
// before what a spreadsheet would take for a formula.
func inert(s string) string {
	s = strings.TrimSpace(strings.Map(func(r rune) rune {
		if !unicode.IsGraphic(r) {
			return -1
		}
		return r
	}, s))
	if strings.ContainsAny(s[:min(1, len(s))], "=+-@") {
		return "'" + s
	}
	return s
}
