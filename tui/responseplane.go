package tui

import (
	"strings"

	"hopcard/analysis/response"
	"hopcard/flight"
)

// drawPlane sets phase delay over bandwidth, a cross of 95 % intervals for each axis (R
// roll, P pitch, Y yaw) that has both. No boundaries of handling qualities are drawn: those of ADS-33E-PRF hold for
// military tasks and are not a verdict on a light home-built rotorcraft.
func (v *responseView) drawPlane(p *paper) {
	g := v.charts()
	rs := v.onAxisAttitude()
	if len(rs) == 0 {
		p.text(1, 0, "Phase delay over bandwidth", strong)
		paragraph(p, 1, 2, g.panel-3, "", "No axis has both: the numbers beside, or the findings, say what is missing.", ink)
		return
	}
	c := planeChart(rs, g.panel-1, v.h)
	for y := range min(c.h, p.h) {
		for x := range min(c.w, g.panel-1) {
			cell := c.cells[y*c.w+x]
			p.set(x, y, cell.r, cell.p)
		}
	}
}

// onAxisAttitude lists the attitude responses of each stick to its own axis that have
// bandwidth and phase delay.
func (v *responseView) onAxisAttitude() []*response.Result {
	var rs []*response.Result
	for _, a := range []flight.Axis{flight.RollAxis, flight.PitchAxis, flight.YawAxis} {
		if r := onAxis(v.desk.current.d, a, response.Attitude); r != nil && r.BandwidthRadS != nil && r.PhaseDelayS != nil {
			rs = append(rs, r)
		}
	}
	return rs
}

func planeChart(rs []*response.Result, w, h int) *paper {
	bx, by := bounds{0, 0}, bounds{0, 0}
	for _, r := range rs {
		x, y := r.BandwidthRadS, times(r.PhaseDelayS, 1000)
		bx = bx.union(boundsOf([]float64{x.Value, x.Low, x.High}))
		by = by.union(boundsOf([]float64{y.Value, y.Low, y.High}))
	}
	c := newChart(w, h, "Phase delay, ms, over bandwidth",
		axis{name: "rad/s; bars: 95 %", b: bx}.round(1), axis{b: by}.round(50))
	for _, r := range rs {
		x, y := r.BandwidthRadS, times(r.PhaseDelayS, 1000)
		if x.HasInterval() {
			c.line([]float64{x.Low, x.High}, []float64{y.Value, y.Value}, false, faint)
		}
		c.bars([]float64{x.Value}, []flight.Estimate{*y}, faint)
	}
	for _, r := range rs {
		x, y := r.BandwidthRadS.Value, r.PhaseDelayS.Value*1000
		c.points([]float64{x}, []float64{y}, []rune(strings.ToUpper(string(r.Axis)))[0], strong)
	}
	return c.p
}
