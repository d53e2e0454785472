package report

import (
	"fmt"
	"math"
	"strings"

	"hopcard/analysis/rotor"
)

// The size of a chart of characters.
const (
	chartWidth  = 62
	chartHeight = 13
)

// designCharts writes the design charts as charts of characters.
func designCharts(p *page, charts []rotor.DesignChart) {
	for i := range charts {
		designChart(p, &charts[i])
	}
}

// designChart draws one: each curve in a letter of its own, what was flown as a star.
func designChart(p *page, c *rotor.DesignChart) {
	xs, ys := chartRanges(c)
	if !(ys.high > ys.low) || !(xs.high > xs.low) {
		return
	}
	grid := make([][]byte, chartHeight)
	for i := range grid {
		grid[i] = []byte(strings.Repeat(" ", chartWidth))
	}
	set := func(x, y float64, mark byte) {
		if finite(x) && finite(y) {
			row, col := chartHeight-1-int(math.Round(ys.part(y)*(chartHeight-1))), int(math.Round(xs.part(x)*(chartWidth-1)))
			if row >= 0 && row < chartHeight && col >= 0 && col < chartWidth {
				grid[row][col] = mark
			}
		}
	}
	for k, curve := range c.Curves {
		drawCurve(curve, xs, func(x, y float64) { set(x, y, byte('a'+k%26)) })
	}
	for _, pt := range c.Points {
		set(pt.X, pt.Y, '*')
	}
	p.blank()
	p.wrapped("", chartTitle(c))
	for i, line := range grid {
		label := ""
		if i == 0 || i == chartHeight/2 || i == chartHeight-1 {
			label = significant(ys.high-(ys.high-ys.low)*float64(i)/(chartHeight-1), 3)
		}
		p.line("%9s |%s", label, strings.TrimRight(string(line), " "))
	}
	p.line("%9s +%s", "", strings.Repeat("-", chartWidth))
	left, right := significant(xs.value(0), 3), significant(xs.value(1), 3)
	middle := significant(xs.value(0.5), 3)
	gap := max(1, (chartWidth-len(left)-len(middle)-len(right))/2)
	p.line("%11s%s%s%s%s%s", "", left, strings.Repeat(" ", gap), middle, strings.Repeat(" ", gap), right)
	p.wrapped("            ", chartLegend(c))
}

// drawCurve visits a curve at every column, straight between its points.
func drawCurve(c rotor.DesignCurve, xs chartRange, visit func(x, y float64)) {
	k := 0
	for col := range chartWidth {
		x := xs.value(float64(col) / (chartWidth - 1))
		for k+2 < len(c.X) && c.X[k+1] < x {
			k++
		}
		f := (x - c.X[k]) / (c.X[k+1] - c.X[k])
		visit(x, c.Y[k]+f*(c.Y[k+1]-c.Y[k]))
	}
}

// chartRange is what an axis spans, on a logarithmic scale if log.
type chartRange struct {
	low, high float64
	log       bool
}

func (r chartRange) part(v float64) float64 {
	if r.log {
		return math.Log(v/r.low) / math.Log(r.high/r.low)
	}
	return (v - r.low) / (r.high - r.low)
}

func (r chartRange) value(part float64) float64 {
	if r.log {
		return r.low * math.Pow(r.high/r.low, part)
	}
	return r.low + part*(r.high-r.low)
}

func chartRanges(c *rotor.DesignChart) (xs, ys chartRange) {
	xs, ys = chartRange{math.Inf(1), math.Inf(-1), c.XLog}, chartRange{math.Inf(1), math.Inf(-1), false}
	reach := func(r *chartRange, v float64) {
		if finite(v) {
			r.low, r.high = math.Min(r.low, v), math.Max(r.high, v)
		}
	}
	for _, curve := range c.Curves {
		for k := range curve.X {
			reach(&xs, curve.X[k])
			reach(&ys, curve.Y[k])
		}
	}
	for _, p := range c.Points {
		reach(&ys, p.Y)
	}
	return xs, ys
}

func chartTitle(c *rotor.DesignChart) string {
	over := c.YName
	if u := unitText(c.YUnit); u != "" {
		over += ", " + u
	}
	return fmt.Sprintf("%s: %s, over the %s, %s", c.Title, over, c.XName, unitText(c.XUnit))
}

func chartLegend(c *rotor.DesignChart) string {
	var parts []string
	for k, curve := range c.Curves {
		parts = append(parts, fmt.Sprintf("%c %s", 'a'+k%26, curve.Label))
	}
	for _, pt := range c.Points {
		if finite(pt.X) && finite(pt.Y) {
			parts = append(parts, fmt.Sprintf("* %s (%s, %s)", Short(pt.Name, nameLength), significant(pt.X, 3), significant(pt.Y, 3)))
		}
	}
	return strings.Join(parts, "; ")
}

// chartsOf are the design charts as JSON: x and y are parallel, without the places where
// there is no such number.
func chartsOf(charts []rotor.DesignChart) []object {
	out := []object{}
	for _, c := range charts {
		curves, points := []object{}, []object{}
		for _, v := range c.Curves {
			x, y := []float64{}, []float64{}
			for k := range v.X {
				if finite(v.X[k]) && finite(v.Y[k]) {
					x, y = append(x, rounded(v.X[k])), append(y, rounded(v.Y[k]))
				}
			}
			curves = append(curves, object{{"label", v.Label}, {"x", x}, {"y", y}})
		}
		for _, pt := range c.Points {
			points = append(points, append(object{{"name", pt.Name}}, known(value{"x", pt.X}, value{"y", pt.Y})...))
		}
		out = append(out, object{{"key", c.Key}, {"title", c.Title}, {"x", c.XName}, {"x_unit", unitText(c.XUnit)}, {"y", c.YName}, {"y_unit", unitText(c.YUnit)},
			{"x_logarithmic", c.XLog}, {"curves", curves}, {"flown", points}})
	}
	return out
}
