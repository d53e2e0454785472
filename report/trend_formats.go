package report

import (
	"io"
	"strconv"
	"strings"

	"github.com/gocarina/gocsv"

	"hopcard/analysis/compare/trend"
)

// TrendJSON writes a trend as one JSON object: the hops in time order, each number over them
// (points are parallel to hops; a point without estimate has a reason), and the tables of
// each configuration. The only error is one of w.
func TrendJSON(w io.Writer, t *trend.Trend) error {
	hops, series, tables := []object{}, []object{}, []object{}
	for _, h := range t.Hops {
		hops = append(hops, trendHopOf(h))
	}
	for i := range t.Series {
		series = append(series, trendSeriesOf(&t.Series[i]))
	}
	for _, x := range t.Tables {
		tables = append(tables, object{
			{"configuration", x.Configuration}, {"hops", append([]string{}, x.Hops...)}, {"flags", x.Flags},
			{"verdicts", object{{"yes", x.Yes}, {"caution", x.Caution}, {"no", x.Refuse}}}, {"classes", classesOf(x.Classes)},
		})
	}
	return writeDocument(w, object{
		{"format", JSONFormat},
		{"hops", hops},
		{"series", series},
		{"configurations", tables},
		{"notes", append([]string{}, t.Notes...)},
	})
}

func trendHopOf(h trend.Hop) object {
	o := object{{"name", h.Name}}
	text := func(name, s string) {
		if s != "" {
			o = append(o, member{name, s})
		}
	}
	text("started_at", dateOf(h.StartedAt))
	text("configuration", h.Configuration)
	if c := h.Change; c != nil {
		o = append(o, member{"change", object{{"from", c.From}, {"to", c.To}, {"what", append([]string{}, c.What...)}}})
	}
	text("air", string(h.Air))
	if e := estimateOf(h.MeanMS, 1); e != nil {
		o = append(o, member{"mean_m_s", e})
	}
	if e := estimateOf(h.SpreadMS, 1); e != nil {
		o = append(o, member{"spread_m_s", e})
	}
	return append(o, member{"proceed", string(h.Proceed)}, member{"flags", h.Flags}, member{"stops", h.Stops}, member{"cautions", h.Cautions})
}

func trendSeriesOf(s *trend.Series) object {
	o := object{{"key", s.Key}, {"name", s.Name}}
	if s.Axis != "" {
		o = append(o, member{"axis", string(s.Axis)})
	}
	o = append(o, member{"unit", unitText(s.Unit)}, member{"depends_on_air", s.Air})
	if s.Warning != "" {
		o = append(o, member{"warning", s.Warning})
	}
	points, levels := []object{}, []object{}
	for _, x := range s.Points {
		if e := estimateOf(x.Estimate, 1); e != nil {
			points = append(points, object{{"estimate", e}})
		} else {
			points = append(points, object{{"reason", x.Reason}})
		}
	}
	for _, l := range s.Levels {
		j := object{{"configuration", l.Configuration}}
		if l.Air != "" {
			j = append(j, member{"air", string(l.Air)})
		}
		j = append(j, member{"hops", l.Hops}, member{"mean", estimateOf(&l.Mean, 1)})
		name := "hop_spread"
		if l.SpreadIsShare {
			name = "hop_spread_share"
		}
		levels = append(levels, append(j, known(value{name, l.SpreadSD})...))
	}
	return append(o, member{"points", points}, member{"configurations", levels})
}

// trendRow is a row of a trend as a table: one number of one hop.
type trendRow struct {
	Hop           string `csv:"hop"`
	StartedAt     string `csv:"started_at"`
	Configuration string `csv:"configuration"`
	Change        string `csv:"change"`
	Air           string `csv:"air"`
	Proceed       string `csv:"proceed"`
	Flags         string `csv:"flags"`
	Item          string `csv:"item"`
	Axis          string `csv:"axis"`
	Value         string `csv:"value"`
	Low           string `csv:"low"`
	High          string `csv:"high"`
	Unit          string `csv:"unit"`
	Reason        string `csv:"reason"`
}

// TrendCSV writes a trend as one long table, a row for each number of each hop: comma,
// decimal point, a header row. Text from outside is cleaned, and no cell of text begins as a
// formula does. The only error is one of w.
func TrendCSV(w io.Writer, t *trend.Trend) error {
	rows := []trendRow{}
	for i := range t.Series {
		s := &t.Series[i]
		for k, x := range s.Points {
			h := t.Hops[k]
			r := trendRow{
				Hop: h.Name, StartedAt: dateOf(h.StartedAt), Configuration: h.Configuration, Air: string(h.Air), Proceed: string(h.Proceed),
				Flags: strconv.Itoa(h.Flags), Item: s.Name, Axis: string(s.Axis), Unit: unitText(s.Unit), Reason: x.Reason,
			}
			if h.Change != nil {
				r.Change = strings.Join(h.Change.What, "; ")
				if r.Change == "" {
					r.Change = "from " + h.Change.From
				}
			}
			if e := x.Estimate; e != nil {
				r.Value, r.Low, r.High = csvNumber(e.Value), csvNumber(e.Low), csvNumber(e.High)
			}
			for _, cell := range []*string{&r.Hop, &r.Configuration, &r.Change, &r.Item, &r.Unit, &r.Reason} {
				*cell = inertCell(*cell)
			}
			rows = append(rows, r)
		}
	}
	return gocsv.Marshal(rows, w)
}
