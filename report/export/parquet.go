package export

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"github.com/parquet-go/parquet-go"

	"hopcard/flight"
)

// rowsPerGroup keeps what is held in memory while writing small, and still leaves readers
// long columns.
const rowsPerGroup = 1 << 17

// MetadataKey names the entry of a Parquet file's metadata that says where its numbers
// come from, as one JSON object.
const MetadataKey = "hopcard"

// Parquet writes the table as Parquet: double columns, empty cells as null, the rest as
// text. The error is the context's or one of w.
func (c *Contents) Parquet(ctx context.Context, w io.Writer) error {
	if c.options.RateHz > 0 {
		return c.timesParquet(ctx, w)
	}
	text := func() parquet.Node { return parquet.Encoded(parquet.String(), &parquet.RLEDictionary) }
	double := parquet.Leaf(parquet.DoubleType)
	out, err := c.writer(w, ordered{
		parquet.Group{"channel": text(), "file": text(), "time_s": double, "value": parquet.Optional(double)},
		[]string{"channel", "file", "time_s", "value"},
	}, "samples")
	if err != nil {
		return err
	}
	rows := newRows(4)
	for _, col := range c.columns {
		ch := col.channel
		name, file := parquet.ValueOf(col.name).Level(0, 0, 0), parquet.ValueOf(col.source.File).Level(0, 0, 1)
		for from := 0; from < ch.Len(); from += chunk {
			if err := ctx.Err(); err != nil {
				return err
			}
			to := min(from+chunk, ch.Len())
			for i := from; i < to; i++ {
				row := rows[i-from]
				row[0], row[1] = name, file
				row[2] = parquet.DoubleValue(ch.TimeS[i]).Level(0, 0, 2)
				row[3] = optional(ch.Value[i]*col.fromSI, 3)
			}
			if _, err := out.WriteRows(rows[:to-from]); err != nil {
				return err
			}
		}
	}
	return out.Close()
}

func (c *Contents) timesParquet(ctx context.Context, w io.Writer) error {
	g, columns, err := c.resampled(ctx)
	if err != nil {
		return err
	}
	double := parquet.Leaf(parquet.DoubleType)
	group := parquet.Group{"time_s": double}
	for _, col := range c.columns {
		group[col.name] = parquet.Optional(double)
	}
	out, err := c.writer(w, ordered{group, append([]string{"time_s"}, c.Channels()...)}, "times")
	if err != nil {
		return err
	}
	rows := newRows(1 + len(columns))
	times := g.times()
	for from := 0; from < len(times); from += chunk {
		if err := ctx.Err(); err != nil {
			return err
		}
		to := min(from+chunk, len(times))
		for i := from; i < to; i++ {
			row := rows[i-from]
			row[0] = parquet.DoubleValue(times[i]).Level(0, 0, 0)
			for k, col := range columns {
				row[1+k] = optional(col[i], 1+k)
			}
		}
		if _, err := out.WriteRows(rows[:to-from]); err != nil {
			return err
		}
	}
	return out.Close()
}

// newRows makes the rows of one chunk.
func newRows(columns int) []parquet.Row {
	rows := make([]parquet.Row, chunk)
	for i := range rows {
		rows[i] = make(parquet.Row, columns)
	}
	return rows
}

// optional is a cell that is null where there is no number.
func optional(x float64, column int) parquet.Value {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return parquet.NullValue().Level(0, 0, column)
	}
	return parquet.DoubleValue(x+0).Level(0, 1, column)
}

// ordered is a group whose columns stand in an order of their own, not in that of their
// names.
type ordered struct {
	parquet.Group
	order []string
}

// Fields implements parquet.Node.
func (o ordered) Fields() []parquet.Field {
	fields := o.Group.Fields()
	slices.SortFunc(fields, func(a, b parquet.Field) int {
		return slices.Index(o.order, a.Name()) - slices.Index(o.order, b.Name())
	})
	return fields
}

// writer opens a Parquet file in the oldest form of pages, which every reader knows.
func (c *Contents) writer(w io.Writer, columns parquet.Node, table string) (*parquet.GenericWriter[any], error) {
	origin, err := c.provenance()
	if err != nil {
		return nil, err
	}
	return parquet.NewGenericWriter[any](w, parquet.NewSchema(table, columns),
		parquet.DataPageVersion(1), parquet.Compression(&parquet.Snappy), parquet.MaxRowsPerRowGroup(rowsPerGroup),
		parquet.CreatedBy("hopcard", c.options.Version, "none"), parquet.KeyValueMetadata(MetadataKey, origin)), nil
}

// originJSON says where the numbers of a file come from.
type originJSON struct {
	Format        int          `json:"format"`
	Version       string       `json:"version"`
	Hop           string       `json:"hop"`
	StartedAt     string       `json:"started_at,omitempty"`
	DurationS     float64      `json:"duration_s"`
	Configuration string       `json:"configuration"`
	Clock         string       `json:"clock"`
	RateHz        float64      `json:"rate_hz,omitempty"`
	Resampling    string       `json:"resampling,omitempty"`
	Sources       []fileJSON   `json:"sources"`
	Channels      []originOf   `json:"channels"`
	Findings      []doubtJSON  `json:"findings"`
	Exclude       [][2]float64 `json:"exclude"`
	LeftOut       []string     `json:"left_out"`
}

type fileJSON struct {
	File          string  `json:"file"`
	SHA256        string  `json:"sha256"`
	Rows          int     `json:"rows"`
	RateHz        float64 `json:"rate_hz"`
	AlignedBy     string  `json:"aligned_by"`
	ClockOffsetS  float64 `json:"clock_offset_s"`
	ClockDriftPPM float64 `json:"clock_drift_ppm"`
	HalfIntervalS float64 `json:"clock_half_interval_s"`
}

type originOf struct {
	Name        string          `json:"name"`
	Quantity    flight.Quantity `json:"quantity"`
	Unit        flight.Unit     `json:"unit"`
	File        string          `json:"file"`
	Column      string          `json:"column"`
	WrittenUnit flight.Unit     `json:"written_unit"`
	UnitGuessed bool            `json:"unit_guessed,omitempty"`
	Sign        int             `json:"sign"`
	Sure        float64         `json:"sure"`
	RateHz      float64         `json:"rate_hz"`
	Derived     bool            `json:"derived,omitempty"`
}

type doubtJSON struct {
	Code     flight.Code     `json:"code"`
	Severity flight.Severity `json:"severity"`
	File     string          `json:"file"`
	Channel  string          `json:"channel"`
	FromS    float64         `json:"from_s"`
	ToS      float64         `json:"to_s"`
	Text     string          `json:"text"`
}

// number is x, or zero for what JSON has no word for.
func number(x float64) float64 {
	if math.IsNaN(x) || math.IsInf(x, 0) {
		return 0
	}
	return x
}

func (c *Contents) provenance() (string, error) {
	h := c.hop
	o := originJSON{
		Format: 1, Version: c.options.Version, Hop: h.Name, DurationS: number(h.DurationS), Configuration: h.Configuration,
		Clock:  "seconds, zero at the first sample of the attitude log; stamp in s = clock_offset_s + (1 + clock_drift_ppm * 1e-6) * time_s",
		RateHz: c.options.RateHz, Sources: []fileJSON{}, Channels: []originOf{}, Findings: []doubtJSON{}, Exclude: [][2]float64{},
		LeftOut: append([]string{}, c.LeftOut...),
	}
	if !h.StartedAt.IsZero() {
		o.StartedAt = h.StartedAt.UTC().Format(time.RFC3339Nano)
	}
	if o.RateHz > 0 {
		o.Resampling = FilterText
	}
	for _, s := range h.Sources {
		o.Sources = append(o.Sources, fileJSON{s.File, s.SHA256, s.Rows, number(s.RateHz), string(s.Clock.AlignedBy),
			number(s.Clock.OffsetS), number(s.Clock.DriftPPM), number(s.Clock.IntervalS)})
	}
	for _, col := range c.columns {
		ch := col.channel
		o.Channels = append(o.Channels, originOf{col.name, ch.Quantity, col.unit, col.source.File, ch.Column, ch.Unit,
			ch.Guessed, ch.Sign, number(ch.Sure), number(ch.RateHz()), ch.Derived})
	}
	for _, f := range h.Findings {
		o.Findings = append(o.Findings, doubtJSON{f.Code, f.Severity, f.File, f.Channel, number(f.Span.FromS), number(f.Span.ToS), f.Text})
	}
	for _, e := range h.Exclude {
		o.Exclude = append(o.Exclude, [2]float64{e.FromS, e.ToS})
	}
	var b strings.Builder
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(o); err != nil {
		return "", fmt.Errorf("describing the hop: %w", err)
	}
	return strings.TrimSpace(b.String()), nil
}
