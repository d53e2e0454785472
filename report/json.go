package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"hopcard/analysis/debrief"
	"hopcard/flight"
)

// JSONFormat is the number that every JSON document carries as "format".
const JSONFormat = 1

// JSON writes the debrief as one JSON object. Names are fixed for one format number;
// more may be added. Times are seconds on the hop clock, angles of names that end in
// _deg are degrees. Lists are never null; an estimate that could not be made is absent;
// one without an interval says so ({"value": 1.5, "interval": "none"}, or "open" where
// one end is missing). The only error is one of w.
func JSON(w io.Writer, d *debrief.Debrief) error {
	h := d.Hop
	doc := object{
		{"format", JSONFormat},
		{"hop", hopOf(h)},
		{"aircraft", aircraftOf(d.Aircraft)},
		{"sources", sourcesOf(h)},
		{"findings", findingsOf(h, d.Findings)},
		{"segments", segmentsOf(d.Segments)},
		{"marks", marksOf(h)},
		{"exclude", spansOf(h.Exclude)},
		{"responses", responsesOf(d)},
		{"phasing", phasingOf(d)},
		{"wind", windOf(&d.Wind)},
		{"gust", gustsOf(&d.Wind, d.Wind.Gusts)},
		{"gust_off_axis", gustsOf(&d.Wind, d.Wind.OffAxis)},
		{"modes", modesOf(d.Stability.Modes)},
		{"damping", dampingOf(d.Stability.Damping)},
		{"unstable", unstableOf(d.Stability.Unstable)},
		{"margins", marginsOf(d.Stability.Margins)},
		{"control", controlOf(d.Stability.Control)},
		{"verdict", verdictOf(h, d.Verdict)},
	}
	if p := planOf(d.Plan); p != nil {
		doc = append(doc, member{"plan", p})
	}
	return writeDocument(w, doc)
}

// object is a JSON object whose members keep their order.
type object []member

type member struct {
	name  string
	value any
}

// MarshalJSON implements json.Marshaler. A name that comes twice gets a number, so that
// no reader drops one of the two.
func (o object) MarshalJSON() ([]byte, error) {
	var b bytes.Buffer
	seen := map[string]bool{}
	b.WriteByte('{')
	for i, m := range o {
		name := m.name
		for n := 2; seen[name]; n++ {
			name = fmt.Sprintf("%s_%d", m.name, n)
		}
		seen[name] = true
		if i > 0 {
			b.WriteByte(',')
		}
		if err := appendMember(&b, name, m.value); err != nil {
			return nil, err
		}
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

func appendMember(b *bytes.Buffer, name string, value any) error {
	key, err := compact(name)
	if err != nil {
		return err
	}
	v, err := compact(value)
	if err != nil {
		return err
	}
	b.Write(key)
	b.WriteByte(':')
	b.Write(v)
	return nil
}

// compact encodes without turning < and > into escapes: the result is not HTML.
func compact(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimRight(b.Bytes(), "\n"), nil
}

// writeDocument writes one member a line, and of a list one element a line, so that the
// file can be searched and compared line by line.
func writeDocument(w io.Writer, doc object) error {
	var b bytes.Buffer
	b.WriteString("{\n")
	for i, m := range doc {
		v, err := compact(m.value)
		if err != nil {
			return fmt.Errorf("report: %s: %w", m.name, err)
		}
		fmt.Fprintf(&b, "%q: ", m.name)
		var list []json.RawMessage
		if v[0] == '[' && json.Unmarshal(v, &list) == nil && len(list) > 0 {
			b.WriteString("[\n ")
			b.Write(bytes.Join(rawBytes(list), []byte(",\n ")))
			b.WriteString("\n]")
		} else {
			b.Write(v)
		}
		if i < len(doc)-1 {
			b.WriteByte(',')
		}
		b.WriteByte('\n')
	}
	b.WriteString("}\n")
	_, err := w.Write(escapeInvisible(b.Bytes()))
	return err
}

func rawBytes(list []json.RawMessage) [][]byte {
	out := make([][]byte, len(list))
	for i := range list {
		out[i] = list[i]
	}
	return out
}

// escapeInvisible writes every character that is not graphic as a JSON escape, so that
// a document on a terminal can neither steer it nor show text in another order. Such
// characters stand inside strings only.
func escapeInvisible(doc []byte) []byte {
	var b bytes.Buffer
	b.Grow(len(doc))
	for len(doc) > 0 {
		r, n := utf8.DecodeRune(doc)
		switch {
		case r == '\n' || r >= ' ' && r <= '~' || r > '~' && unicode.IsGraphic(r):
			b.Write(doc[:n])
		case r > 0xffff:
			fmt.Fprintf(&b, `\u%04x\u%04x`, 0xd800+(r-0x10000)>>10, 0xdc00+(r-0x10000)&0x3ff)
		default:
			fmt.Fprintf(&b, `\u%04x`, r)
		}
		doc = doc[n:]
	}
	return b.Bytes()
}

// estimateJSON is an estimate as written.
type estimateJSON struct {
	Value    float64  `json:"value"`
	Low      *float64 `json:"low,omitempty"`
	High     *float64 `json:"high,omitempty"`
	Interval string   `json:"interval,omitempty"`
}

// estimateOf turns e, multiplied by k, into what is written; nil if there is no number.
func estimateOf(e *flight.Estimate, k float64) *estimateJSON {
	if e == nil || !finite(e.Value*k) {
		return nil
	}
	s := e.Times(k)
	out := &estimateJSON{Value: rounded(s.Value), Low: number(s.Low), High: number(s.High)}
	switch {
	case !s.HasInterval(), out.Low == nil && out.High == nil:
		out.Low, out.High, out.Interval = nil, nil, "none"
	case out.Low == nil || out.High == nil:
		out.Interval = "open"
	}
	return out
}

// rounded keeps nine significant digits. More would only show in which order a machine
// adds.
func rounded(x float64) float64 {
	v, err := strconv.ParseFloat(strconv.FormatFloat(x, 'g', 9, 64), 64)
	if err != nil || v == 0 {
		return 0
	}
	return v
}

// number is a plain number that may be missing: nil where x is none.
func number(x float64) *float64 {
	if !finite(x) {
		return nil
	}
	x = rounded(x)
	return &x
}

// exact is number with every digit, for stamps that count from an epoch.
func exact(x float64) *float64 {
	if !finite(x) {
		return nil
	}
	x += 0 // no negative zero
	return &x
}

// spanJSON is an interval as written, to be embedded.
type spanJSON struct {
	FromS *float64 `json:"from_s,omitempty"`
	ToS   *float64 `json:"to_s,omitempty"`
}

func spanOf(s flight.Span) spanJSON { return spanJSON{timeS(s.FromS), timeS(s.ToS)} }

// wholeOr is spanOf, with the whole hop in place of the zero span.
func wholeOr(h *flight.Hop, s flight.Span) (span spanJSON, whole bool) {
	if s == (flight.Span{}) {
		return spanOf(flight.Span{ToS: h.DurationS}), true
	}
	return spanOf(s), false
}

// spansOf lists intervals as pairs of numbers.
func spansOf(spans []flight.Span) [][2]float64 {
	out := [][2]float64{}
	for _, s := range spans {
		if from, to := timeS(s.FromS), timeS(s.ToS); from != nil && to != nil {
			out = append(out, [2]float64{*from, *to})
		}
	}
	return out
}

// timeS rounds a hop time to the microsecond.
func timeS(t float64) *float64 {
	if math.Abs(t) > 1e9 {
		return exact(t) // no hop lasts that long; rounding could overflow
	}
	if !finite(t) {
		return nil
	}
	t = math.Round(t*1e6)/1e6 + 0
	return &t
}

func dateOf(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return strings.Replace(t.UTC().Format(time.RFC3339Nano), "+00:00", "Z", 1)
}
