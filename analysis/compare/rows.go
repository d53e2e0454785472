package compare

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hopcard/analysis/debrief"
	"hopcard/analysis/wind"
	"hopcard/flight"
)

// read is what one side gives of a measure.
type read struct {
	numbers []number
	hops    []string // that gave one
	used    []*debrief.Debrief
	why     []string // reasons of the others, each once
}

// test makes the rows of a measure: one, or one for each class of air flown by both sides.
func (m measure) test(a, b Side) []*tested {
	if !m.air {
		return []*tested{m.row(a, b, "")}
	}
	var rows []*tested
	for _, class := range []wind.Class{wind.Calm, wind.Steady, wind.Gusty} {
		t := m.row(a, b, class)
		if len(t.row.HopsA) > 0 && len(t.row.HopsB) > 0 {
			rows = append(rows, t)
		}
	}
	if len(rows) > 0 {
		return rows
	}
	t := m.begin("")
	t.withhold(airReason(a, b))
	t.row.Settle = airSettle(a, b)
	return []*tested{t}
}

// airSettle says what flying would give both sides the same air: the unkindest that one of
// them flew in. It is empty where they share one.
func airSettle(a, b Side) string {
	ca, cb := classes(a), classes(b)
	var parts []string
	for _, s := range []struct {
		name string
		of   []string
	}{{a.Name, ca}, {b.Name, cb}} {
		if len(s.of) == 0 {
			parts = append(parts, "1 hop with "+s.name+" with the wind logged")
		}
	}
	if len(parts) > 0 {
		return strings.Join(parts, " and ")
	}
	for _, class := range []wind.Class{wind.Gusty, wind.Steady, wind.Calm} {
		if slices.Contains(ca, string(class)) && slices.Contains(cb, string(class)) {
			return ""
		}
	}
	for _, class := range []wind.Class{wind.Gusty, wind.Steady, wind.Calm} {
		switch {
		case slices.Contains(ca, string(class)):
			return fmt.Sprintf("1 %s hop with %s", class, b.Name)
		case slices.Contains(cb, string(class)):
			return fmt.Sprintf("1 %s hop with %s", class, a.Name)
		}
	}
	return ""
}

// airReason says why a number that depends on the air has no row.
func airReason(a, b Side) string {
	ca, cb := classes(a), classes(b)
	for _, s := range []struct {
		name string
		of   []string
	}{{a.Name, ca}, {b.Name, cb}} {
		if len(s.of) == 0 {
			return "depends on the air, and no wind was measured with " + s.name
		}
	}
	for _, x := range ca {
		for _, y := range cb {
			if x == y {
				return "not measured on both sides in the same air"
			}
		}
	}
	return fmt.Sprintf("depends on the air: %s was flown in %s air, %s in %s", a.Name, strings.Join(ca, " and "), b.Name, strings.Join(cb, " and "))
}

// classes lists the classes of air of a side's hops, from kind to unkind.
func classes(s Side) []string {
	var out []string
	for _, class := range []wind.Class{wind.Calm, wind.Steady, wind.Gusty} {
		for _, d := range s.Hops {
			if inClass(d, class) {
				out = append(out, string(class))
				break
			}
		}
	}
	return out
}

func (m measure) begin(class wind.Class) *tested {
	unit := m.unit
	if m.ratio {
		unit = percent
	}
	return &tested{m: m, row: Row{
		Key: m.key, Name: m.name, Axis: m.axis, Class: class, Unit: m.unit, DifferenceUnit: unit,
		HopSpread: math.NaN(), Chance: math.NaN(), Corrected: math.NaN(), OddsAtMost: math.NaN(), Warning: m.warning,
	}}
}

func (t *tested) withhold(reason string) {
	t.row.Verdict, t.row.Reason = Withheld, reason
}

// row compares the sides in one class of air.
func (m measure) row(a, b Side, class wind.Class) *tested {
	t := m.begin(class)
	ra, rb := m.readBoth(a, b, class)
	why := missing(a, b, ra, rb)
	if why == "" {
		ra, rb, why = m.alike(ra, rb)
	}
	t.row.HopsA, t.row.HopsB = ra.hops, rb.hops
	if why != "" {
		t.withhold(why)
		return t
	}
	t.contrast = contrastOf(ra.numbers, rb.numbers)
	t.fill()
	if m.severalHops != "" && len(ra.numbers)+len(rb.numbers) < 3 {
		t.withhold(m.severalHops + ": one hop a side cannot tell; fly two of each")
	} else if why = m.apart(ra, rb); why != "" {
		t.withhold(why)
	}
	if t.row.Verdict == Withheld {
		t.row.Difference = nil
	}
	return t
}

// readBoth takes the measure from both sides by the gauge that most hops give.
func (m measure) readBoth(a, b Side, class wind.Class) (ra, rb read) {
	best := -1
	for _, g := range m.gauges {
		x, y := m.read(a, class, g), m.read(b, class, g)
		score := len(x.numbers) + len(y.numbers)
		if len(x.numbers) > 0 && len(y.numbers) > 0 {
			score += 1000
		}
		if score > best {
			best, ra, rb = score, x, y
		}
	}
	return ra, rb
}

// read takes the measure from the hops of a side.
func (m measure) read(s Side, class wind.Class, g gauge) read {
	var r read
	for _, d := range s.Hops {
		e, why := g(d, class)
		n, ok := number{}, false
		if e != nil {
			n, ok = m.number(*e)
			why = "without an interval"
		}
		if !ok {
			r.add(why)
			continue
		}
		r.numbers, r.hops, r.used = append(r.numbers, n), append(r.hops, d.Hop.Name), append(r.used, d)
	}
	return r
}

func (r *read) add(why string) {
	for _, w := range r.why {
		if w == why {
			return
		}
	}
	r.why = append(r.why, why)
}

// number puts an estimate on the scale it is compared on; ok is false without an interval.
func (m measure) number(e flight.Estimate) (n number, ok bool) {
	return numberOf(e.Times(m.k), m.ratio)
}

// numberOf takes an estimate for a normal number, by its logarithm if it is a ratio; ok is
// false without an interval.
func numberOf(e flight.Estimate, ratio bool) (n number, ok bool) {
	if ratio {
		if !(e.Value > 0) || !(e.High > e.Value) {
			return number{}, false
		}
		// The upper end: the lower may reach zero, and logarithms of it say nothing.
		n = number{math.Log(e.Value), math.Log(e.High/e.Value) / normal95}
		if e.Low > 0 {
			n.sd = math.Log(e.High/e.Low) / 2 / normal95
		}
	} else {
		n = number{e.Value, (e.High - e.Low) / 2 / normal95}
	}
	ok = !math.IsNaN(n.y+n.sd) && !math.IsInf(n.y+n.sd, 0) && n.sd > 0
	return n, ok
}

// missing says which side lacks the number and why, empty if both have it.
func missing(a, b Side, ra, rb read) string {
	var parts []string
	for _, s := range []struct {
		name string
		r    read
	}{{a.Name, ra}, {b.Name, rb}} {
		if len(s.r.numbers) == 0 {
			parts = append(parts, s.name+": "+strings.Join(s.r.why, ", "))
		}
	}
	return strings.Join(parts, "; ")
}

// alike leaves of both sides the hops that agree in what must be the same, by the text that
// most hops of both sides share; why says that there is none.
func (m measure) alike(a, b read) (ra, rb read, why string) {
	if m.same == nil {
		return a, b, ""
	}
	textsA, countA := m.texts(a)
	textsB, countB := m.texts(b)
	best, most := "", 0
	for _, text := range textsA {
		if n := countA[text] + countB[text]; countB[text] > 0 && n > most {
			best, most = text, n
		}
	}
	if most == 0 {
		return a, b, fmt.Sprintf("different %s: %s against %s", m.of, strings.Join(textsA, " or "), strings.Join(textsB, " or "))
	}
	return m.only(a, best), m.only(b, best), ""
}

// texts lists what the hops of a side say, each once and in order, and how often.
func (m measure) texts(r read) (texts []string, count map[string]int) {
	count = map[string]int{}
	for _, d := range r.used {
		text := m.same(d)
		if count[text] == 0 {
			texts = append(texts, text)
		}
		count[text]++
	}
	return texts, count
}

// only keeps the hops that say text.
func (m measure) only(r read, text string) read {
	var out read
	for i, d := range r.used {
		if m.same(d) == text {
			out.numbers, out.hops, out.used = append(out.numbers, r.numbers[i]), append(out.hops, r.hops[i]), append(out.used, d)
		}
	}
	return out
}

// apart says why swings of the hops are not the same one, empty if they may be.
func (m measure) apart(a, b read) string {
	if m.near == 0 {
		return ""
	}
	low, high := math.Inf(1), math.Inf(-1)
	for _, d := range append(append([]*debrief.Debrief{}, a.used...), b.used...) {
		low, high = math.Min(low, m.like(d)), math.Max(high, m.like(d))
	}
	if high <= m.near*low {
		return ""
	}
	return fmt.Sprintf("not the same %s: %.2g and %.2g", m.of, low, high)
}

// fill turns the contrast into the row's numbers.
func (t *tested) fill() {
	c, r := t.contrast, &t.row
	at := func(mean, se float64) *flight.Estimate {
		df := float64(singleDF)
		if !math.IsNaN(c.tau2) {
			df = c.df
		}
		h := se * studentT(df).Quantile(0.975)
		e := flight.Estimate{Value: mean, Low: mean - h, High: mean + h}
		if t.m.ratio {
			e = flight.Estimate{Value: math.Exp(e.Value), Low: math.Exp(e.Low), High: math.Exp(e.High)}
		}
		return &e
	}
	r.A, r.B = at(c.meanA, c.seA), at(c.meanB, c.seB)
	half := c.half()
	r.Difference = &flight.Estimate{Value: c.d, Low: c.d - half, High: c.d + half}
	r.HopSpread = math.Sqrt(c.tau2)
	if t.m.ratio {
		share := func(x float64) float64 { return 100 * math.Expm1(x) }
		r.Difference = &flight.Estimate{Value: share(c.d), Low: share(c.d - half), High: share(c.d + half)}
		r.HopSpread = share(r.HopSpread)
	}
	r.BetweenHops = c.hopsA == 1 && c.hopsB == 1
}

// worth is the least difference worth knowing, on the scale of the contrast.
func (t *tested) worth() float64 {
	if t.m.ratio {
		return math.Log1p(t.m.worth)
	}
	return t.m.worth
}
