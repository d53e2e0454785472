package tui

import (
	"context"
	"errors"
	"fmt"

	"hopcard/analysis/compare/trend"
	"hopcard/flight"
)

// trendListTop is the first row of the list of numbers.
const trendListTop = 2

// listWidth is the width of the list of numbers.
func (v *trendView) listWidth() int { return min(max(v.w*3/8, 32), 46) }

func (v *trendView) View() string {
	p := newPaper(v.w, v.h)
	switch {
	case v.cancel != nil:
		p.text(2, 1, fmt.Sprintf("reading all hops: %.0f %%", 100*v.done), strong)
		p.text(2, 2, clip(clean(v.what), v.w-4), faint)
	case errors.Is(v.err, context.Canceled):
		p.text(2, 1, "stopped; r reads all hops", ink)
	case v.err != nil:
		paragraph(p, 2, 1, v.w-4, "", clean(v.err.Error()), warn)
	case v.t == nil:
		p.text(2, 1, "r reads all hops", ink)
	case len(v.series) == 0:
		p.text(2, 1, "No hop gives a number.", strong)
	default:
		v.drawList(p)
		v.drawSeries(p)
	}
	return p.render(&v.desk.theme)
}

// drawList lists the numbers with the value of the last hop that gives one.
func (v *trendView) drawList(p *paper) {
	p.text(2, 1, "number", faint)
	p.textRight(v.listWidth(), 1, "last", faint)
	for row := range min(v.h-trendListTop, len(v.series)-v.top) {
		i, y := v.top+row, trendListTop+row
		s := &v.t.Series[v.series[i]]
		pn := ink
		if i == v.at {
			p.text(0, y, ">", accent)
			pn = strong
		}
		p.textTo(2, y, v.listWidth()-7, seriesName(s), pn)
		for k := len(s.Points) - 1; k >= 0; k-- {
			if e := s.Points[k].Estimate; e != nil {
				p.textRight(v.listWidth(), y, number(shownValue(s, e.Value)), pn)
				break
			}
		}
	}
	if v.top+v.h-trendListTop < len(v.series) {
		p.textRight(v.listWidth(), v.h-1, "more ↓", faint)
	}
}

func seriesName(s *trend.Series) string {
	if s.Axis == "" {
		return s.Name
	}
	return string(s.Axis) + " " + s.Name
}

// shownScale is what a number of the series is multiplied by to be shown, with its unit:
// times in ms.
func shownScale(s *trend.Series) (scale float64, unit string) {
	if s.Unit == flight.Second {
		return 1e3, "ms"
	}
	return 1, unitText(s.Unit)
}

func shownValue(s *trend.Series, v float64) float64 {
	k, _ := shownScale(s)
	return k * v
}

// configurationLetters gives each configuration a letter, in the order first flown.
func configurationLetters(t *trend.Trend) (letters map[string]rune, names []string) {
	letters = map[string]rune{}
	for _, h := range t.Hops {
		if _, ok := letters[h.Configuration]; !ok {
			letters[h.Configuration] = rune('a' + len(names)%26)
			names = append(names, h.Configuration)
		}
	}
	return letters, names
}

// drawSeries draws the chosen number over the hops: intervals as bars, the letter of the
// configuration at the value, a line where something was changed.
func (v *trendView) drawSeries(p *paper) {
	s := &v.t.Series[v.series[v.at]]
	letters, names := configurationLetters(v.t)
	x0 := v.listWidth() + 2
	k, unit := shownScale(s)
	var xs, ys []float64
	var es []flight.Estimate
	var marks []rune
	scale := none()
	for i, pt := range s.Points {
		if pt.Estimate == nil {
			continue
		}
		e := pt.Estimate.Times(k)
		xs, ys, es = append(xs, float64(i+1)), append(ys, e.Value), append(es, e)
		marks = append(marks, letters[v.t.Hops[i].Configuration])
		scale = scale.with(e.Value)
		if e.HasInterval() {
			scale = scale.with(e.Low).with(e.High)
		}
	}
	below := v.trendText(s, letters, names, v.w-x0-1)
	h := max(v.h-1-min(len(below), v.h/2), 8)
	c := newChart(v.w-x0, h, withUnit(seriesName(s), unit),
		axis{name: "hop", b: bounds{0.5, float64(len(v.t.Hops)) + 0.5}}, axis{b: scale}.round(1e-6))
	for i, hop := range v.t.Hops {
		if hop.Change == nil {
			continue
		}
		for y := range c.h {
			if col := c.column(float64(i) + 0.5); c.p.cells[(1+y)*c.p.w+col].r == ' ' {
				c.p.set(col, 1+y, '┊', faint)
			}
		}
	}
	c.bars(xs, es, faint)
	for i := range xs {
		c.points(xs[i:i+1], ys[i:i+1], marks[i], strong)
	}
	paste(p, c.p, x0, 0)
	for i, text := range below {
		p.text(x0, h+i, text, ink)
	}
}

// trendText says what the letters are and what to beware of.
func (v *trendView) trendText(s *trend.Series, letters map[string]rune, names []string, w int) []string {
	var out []string
	add := func(text string) { out = append(out, wrap(clean(text), w)...) }
	for _, name := range names {
		text := name
		if name == "" {
			text = "configuration not known"
		}
		for _, l := range s.Levels {
			if l.Configuration != name {
				continue
			}
			k, unit := shownScale(s)
			mean := l.Mean.Times(k)
			air := ""
			if l.Air != "" {
				air = ", " + string(l.Air)
			}
			text += fmt.Sprintf("; %s of %s%s", estimate(&mean, unit), hopsText(l.Hops), air)
		}
		add(fmt.Sprintf("%c  %s", letters[name], text))
	}
	if s.Warning != "" {
		add("Beware: " + s.Warning + ".")
	}
	if n := len(v.failed); n > 0 {
		add(fmt.Sprintf("%s left out: %s", hopsText(n), v.failed[0]))
	}
	add("A trend shows; whether a change is real, hopcard compare says.")
	return out
}
