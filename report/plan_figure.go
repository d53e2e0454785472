package report

import (
	"fmt"
	"math"

	"hopcard/analysis/plan"
	"hopcard/flight"
)

// Measures of the figure of the inputs, in points.
const (
	inputHighPt = 32.0
	inputFootPt = 9.0  // times under it
	inputLeadPt = 22.0 // of stick before and after, seen at rest
)

// inputFigure draws what the stick does in a doublet and in a sweep, one shape for all axes;
// sizes and times of the first one of each kind. Nil if neither is planned.
func inputFigure(c *plan.Plan, widthPt float64) *drawing {
	doublet, sweep := firstPlanned(c, flight.Doublet), firstPlanned(c, flight.Sweep)
	if doublet == nil && sweep == nil {
		return nil
	}
	f := &drawing{title: "What the stick does, from trim, over time", widthPt: widthPt, highPt: inputHighPt + inputFootPt + 2}
	split := 0.28 * widthPt
	if sweep == nil {
		split = widthPt / 2
	}
	if doublet == nil {
		split = 0
	}
	if doublet != nil {
		inputPanel(f, 0, split-12, doublet.LengthS, doubletPoints(doublet))
		f.label(split/2-6, inputHighPt+inputFootPt, smallPt, middleAnchor,
			fmt.Sprintf("doublet: %s s + %s s", fixed(doublet.LengthS/2, 1), fixed(doublet.LengthS/2, 1)))
	}
	if sweep != nil {
		inputPanel(f, split, widthPt-split, sweep.LengthS, sweepPoints(sweep))
		f.label(split+(widthPt-split)/2, inputHighPt+inputFootPt, smallPt, middleAnchor,
			fmt.Sprintf("sweep: %s s, a sway in %s s at first, %s a second at the end", fixed(sweep.LengthS, 0),
				fixed(2*math.Pi/sweep.FromRadS, 0), fixed(sweep.ToRadS/(2*math.Pi), 1)))
	}
	return f
}

func firstPlanned(c *plan.Plan, kind flight.SegmentKind) *flight.PlannedInput {
	for i := range c.Written.Inputs {
		if c.Written.Inputs[i].Kind == kind {
			return &c.Written.Inputs[i]
		}
	}
	return nil
}

// inputPanel draws points of time (0 to lengthS) and stick (-1 to 1) between two stretches
// of stick at rest.
func inputPanel(f *drawing, x, width, lengthS float64, points []point) {
	mid := inputHighPt / 2
	f.line(zeroPen(), point{x, mid}, point{x + width, mid})
	line := []point{{x, mid}}
	for _, p := range points {
		line = append(line, point{x + inputLeadPt + (width-2*inputLeadPt)*p.x/lengthS, mid - 0.96*mid*p.y})
	}
	line = append(line, point{x + width, mid})
	f.line(pen{widthPt: 0.9}, line...)
	f.line(dottedPen(), point{x + inputLeadPt, 0}, point{x + inputLeadPt, inputHighPt})
	f.line(dottedPen(), point{x + width - inputLeadPt, 0}, point{x + width - inputLeadPt, inputHighPt})
}

func doubletPoints(i *flight.PlannedInput) []point {
	half, end := i.LengthS/2, i.LengthS
	return []point{{0, 0}, {0, 1}, {half, 1}, {half, -1}, {end, -1}, {end, 0}}
}

// sweepPoints is a sine whose frequency grows by equal shares and whose size grows evenly.
func sweepPoints(i *flight.PlannedInput) []point {
	end := max(i.SizeEndPercent, i.SizePercent)
	ratio := math.Log(i.ToRadS / i.FromRadS)
	const n = 900
	points := make([]point, n+1)
	for k := range points {
		share := float64(k) / n
		phase := i.FromRadS * i.LengthS / ratio * (math.Exp(ratio*share) - 1)
		size := (i.SizePercent + (end-i.SizePercent)*share) / end
		points[k] = point{share * i.LengthS, size * math.Sin(phase)}
	}
	points[n].y = 0
	return points
}
