package report

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"hopcard/analysis/rotor"
)

const designHighPt = 104.0

// designPen is the line of a chart's k-th curve: told apart by dashes and by a letter at its
// end.
func designPen(k int) pen {
	dashes := [][]float64{nil, {5, 2}, {1, 1.6}, {6, 2, 1, 2}, {2.5, 2.5}}
	return pen{widthPt: 0.9, dashPt: dashes[k%len(dashes)]}
}

// curveLetter names a curve in the figure and in its legend.
func curveLetter(k int) string { return string(rune('a' + k%26)) }

// designFigure draws a design chart: curves with letters, configurations as numbered dots. It
// is nil if there is nothing to show.
func designFigure(c *rotor.DesignChart, r room) *drawing {
	xs, ys := chartRanges(c)
	if !(xs.high > xs.low) || !(ys.high >= ys.low) || xs.log && !(xs.low > 0) {
		return nil
	}
	f := &drawing{title: c.Title, widthPt: r.widthPt, highPt: smallLegendPt + designHighPt*r.tall + 10, caption: designCaption(c)}
	p := fieldOf(f, designHighPt*r.tall)
	p.w -= 6 // for the letters
	p.xs = scale{lo: xs.low, hi: xs.high, log: xs.log}
	p.ys = roundScale(ys.low, ys.high, 1e-3*math.Max(1e-3, math.Abs(ys.high)))
	p.frame(5)
	taken := map[int]bool{} // rows of letters
	for k, v := range c.Curves {
		runs := designRuns(v)
		p.curve(designPen(k), runs)
		if len(runs) == 0 {
			continue
		}
		last := runs[len(runs)-1]
		end := last[len(last)-1]
		row := int(p.atY(end.y) / smallPt)
		for taken[row] && row > 0 {
			row--
		}
		taken[row] = true
		f.boldLabel(min(p.atX(end.x)+2, p.x+p.w+2), (float64(row)+0.5)*smallPt+smallPt*0.36, smallPt, startAnchor, curveLetter(k))
	}
	p.designPoints(c.Points)
	p.numbers(unitText(c.XUnit))
	p.name(axisTitle(c.YName, unitText(c.YUnit)))
	return f
}

// designPoints marks configurations with their numbers; those in one place share a mark.
func (p panel) designPoints(list []rotor.DesignPoint) {
	type place struct {
		x, y  float64
		names []string
	}
	var places []place
	for i, q := range list {
		if part := p.xs.part(q.X); !finite(q.X) || !finite(q.Y) || !(part >= 0 && part <= 1) {
			continue
		}
		x, y, name := p.atX(q.X), p.atY(q.Y), fmt.Sprint(i+1)
		at := slices.IndexFunc(places, func(o place) bool { return math.Hypot(o.x-x, o.y-y) < 3 })
		if at < 0 {
			places = append(places, place{x, y, []string{name}})
			continue
		}
		places[at].names = append(places[at].names, name)
	}
	for _, o := range places {
		p.f.dot(o.x, o.y, 2)
		p.note(o.x, o.y-5, strings.Join(o.names, ", "))
	}
}

// designRuns are the parts of a curve that are numbers.
func designRuns(v rotor.DesignCurve) [][]point {
	var runs [][]point
	var run []point
	end := func() {
		if len(run) > 1 {
			runs = append(runs, run)
		}
		run = nil
	}
	for k := range v.X {
		if !finite(v.X[k]) || !finite(v.Y[k]) {
			end()
			continue
		}
		run = append(run, point{v.X[k], v.Y[k]})
	}
	end()
	return runs
}

func axisTitle(name, unit string) string {
	if unit == "" {
		return name
	}
	return name + ", " + unit
}

// designCaption names the curves and the configurations; one that lies outside is named all
// the same, with where it lies.
func designCaption(c *rotor.DesignChart) string {
	parts := []string{"over the " + axisTitle(c.XName, unitText(c.XUnit))}
	for k, v := range c.Curves {
		if len(designRuns(v)) > 0 {
			parts = append(parts, curveLetter(k)+" "+v.Label)
		}
	}
	for i, q := range c.Points {
		if finite(q.X) && finite(q.Y) {
			parts = append(parts, fmt.Sprintf("%d %s (%s, %s)", i+1, Short(q.Name, nameLength), significant(q.X, 3), significant(q.Y, 3)))
		}
	}
	return upperFirst(strings.Join(parts, "; "))
}
