package compare

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"hopcard/analysis/wind"
	"hopcard/flight"
)

// mostHops is how many hops a side are worth flying for one number.
const mostHops = 12

// word writes the plain sentence of the row and, of open ones, what would settle it. rows is
// how many are compared.
func (t *tested) word(a, b string, rows int) {
	r := &t.row
	if r.Verdict == Withheld {
		r.Sentence = fmt.Sprintf("%s: not compared: %s", t.title(), r.Reason)
		return
	}
	switch r.Verdict {
	case Real:
		r.Sentence = t.finding(b)
	case TwoHops:
		r.Sentence = t.finding(b)
		r.Settle = fmt.Sprintf("at least 1 more %s with %s and 1 more with %s, to tell whether the configuration does it",
			hopWord(r.Class, 1), a, b)
	case Alike:
		r.Sentence = fmt.Sprintf("%s: alike as near as matters: %s", t.title(), t.amount(*r.Difference, true))
	default:
		shown := "no difference shown: "
		if r.Chance < Level { // its interval leaves out zero
			shown = fmt.Sprintf("not shown, though it may be there (of %d rows some look so by chance): ", rows)
		}
		r.Sentence = t.title() + ": " + shown + t.amount(*r.Difference, true)
		r.Settle = t.settle(a, b)
	}
}

// title names the row.
func (t *tested) title() string {
	text := t.m.name
	if t.m.axis != "" {
		text = string(t.m.axis) + ", " + text
	}
	if air := t.air(); air != "" {
		text += ", " + air
	}
	return text
}

// air names the class of air, empty where it does not matter.
func (t *tested) air() string {
	if t.row.Class == "" {
		return ""
	}
	return string(t.row.Class) + " air"
}

// finding is the sentence of a difference that is real.
func (t *tested) finding(b string) string {
	d, words := *t.row.Difference, t.m.more
	if d.Value < 0 {
		d, words = d.Times(-1), t.m.less
	}
	value, interval, _ := strings.Cut(t.amount(d, false), " (")
	text := fmt.Sprintf(words, value) + " with " + b + " (" + strings.TrimSuffix(interval, ")")
	if air := t.air(); air != "" {
		text += "; " + air
	}
	text += "): real"
	if t.row.BetweenHops {
		text += " between these two hops"
	}
	return text
}

// amount words a difference, "42 ms (36 to 49)"; signed puts a plus before it.
func (t *tested) amount(d flight.Estimate, signed bool) string {
	decimals := decimalsOf((d.High - d.Low) / 2)
	value := figure(d.Value, decimals)
	if signed && d.Value > 0 {
		value = "+" + value
	}
	unit := string(t.row.DifferenceUnit)
	if unit != "" {
		unit = " " + unit
	}
	return fmt.Sprintf("%s%s (%s to %s)", value, unit, figure(d.Low, decimals), figure(d.High, decimals))
}

// decimalsOf shows two significant digits of a half width, none of them below a tenth of
// a percent or unit where the half width is large.
func decimalsOf(half float64) int {
	if !(half > 0) || math.IsInf(half, 0) {
		return 2
	}
	return max(0, min(4, 1-int(math.Floor(math.Log10(half)))))
}

func figure(x float64, decimals int) string {
	if math.IsInf(x, 0) || math.IsNaN(x) || math.Abs(x) > 1e9 {
		return "unbounded"
	}
	s := strconv.FormatFloat(x, 'f', decimals, 64)
	if v, err := strconv.ParseFloat(s, 64); err == nil && v == 0 {
		return strings.TrimPrefix(s, "-")
	}
	return s
}

// settle says what flying would make the difference seen, or the least one worth knowing
// if that is larger, real four times in five.
func (t *tested) settle(a, b string) string {
	c := t.contrast
	delta := math.Max(math.Abs(c.d), t.worth())
	na, nb, ok := c.hopsNeeded(delta, t.share, mostHops)
	if !ok {
		return fmt.Sprintf("more than %d hops a side would be needed", mostHops)
	}
	na, nb = na-c.hopsA, nb-c.hopsB
	switch {
	case na > 0 || nb > 0:
	case math.Abs(c.d) > t.worth(): // unlucky so far
		na, nb = 1, 1
	default:
		return fmt.Sprintf("no more flying: a difference of %s would have shown", t.worthText())
	}
	var parts []string
	for _, s := range []struct {
		n    int
		name string
	}{{na, a}, {nb, b}} {
		if s.n > 0 {
			parts = append(parts, fmt.Sprintf("%d more %s with %s", s.n, hopWord(t.row.Class, s.n), s.name))
		}
	}
	text := strings.Join(parts, " and ")
	if t.m.flying != "" {
		text += ", " + t.m.flying
	}
	if math.IsNaN(c.tau2) {
		return "at least " + text
	}
	return text
}

func hopWord(class wind.Class, n int) string {
	word := "hop"
	if n > 1 {
		word = "hops"
	}
	if class != "" {
		word = string(class) + " " + word
	}
	return word
}

func (t *tested) worthText() string {
	if t.m.ratio {
		return figure(100*t.m.worth, 0) + " %"
	}
	text := strconv.FormatFloat(t.m.worth, 'g', 3, 64)
	if t.m.unit != "" {
		text += " " + string(t.m.unit)
	}
	return text
}
