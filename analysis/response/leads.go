package response

import (
	"fmt"
	"math"

	"hopcard/analysis/spectrum"
	"hopcard/flight"
)

// A motion that comes before the stick is no aircraft response: a clock is wrong, or the
// logged stick contains feedback. But not every negative peak of a correlation says so:
// the pilot who steadies the aircraft follows it, and his stick correlates with what
// the aircraft did before. The two differ in sign. A pilot who holds an aircraft steady
// moves the stick against the motion, so what remains of the response at low frequency
// is turned round or at right angles (-1/pilot, Wellstead 1978, Automatica 14). An
// aircraft whose clock is off still answers with the stick, and the wrong clock adds
// phase in proportion to frequency.

// leadBand bounds the frequencies of the line through the phase, rad/s.
const (
	leadFromRadS = 1.0
	leadToRadS   = 12.0
	// leadIntercept is the largest phase at zero frequency, in rad, of a rate that answers
	// with the stick.
	leadIntercept = math.Pi / 4
)

// leads returns by how much the rate leads the stick, nil if it does not. Two things must
// agree: the correlation peaks before zero lag, with its whole interval; and the phase,
// where the coherence carries it, rises in proportion to frequency from about zero.
func leads(rate *spectrum.Response, lag *flight.Estimate) *flight.Estimate {
	if lag == nil || lag.High >= 0 {
		return nil
	}
	slope, sd, intercept, ok := phaseLine(carried(rate, unwrapped(rate)))
	if !ok || slope <= sd || math.Abs(intercept) > leadIntercept {
		return nil
	}
	lead := lag.Times(-1)
	return &lead
}

// phaseLine fits phase = intercept + slope*omega, weighted by the phase errors. sd is that
// of the slope, with the errors shared by neighbouring points counted once.
func phaseLine(c curve) (slope, sd, intercept float64, ok bool) {
	var n, s0, s1, s2, p0, p1 float64
	var lo, hi, band float64
	for k, ln := range c.lnOmega {
		w := math.Exp(ln)
		if w < leadFromRadS || w > leadToRadS {
			continue
		}
		if n == 0 {
			lo = w
		}
		hi = w
		n++
		band += c.bandRadS[k]
		// Not below 2 deg: beyond that the line is not exact.
		weight := 1 / (c.sd[k]*c.sd[k] + 0.035*0.035)
		s0 += weight
		s1 += weight * w
		s2 += weight * w * w
		p0 += weight * c.phase[k]
		p1 += weight * w * c.phase[k]
	}
	det := s0*s2 - s1*s1
	if n < 8 || hi < 2*lo || !(det > 0) {
		return 0, 0, 0, false
	}
	slope = (s0*p1 - s1*p0) / det
	intercept = (s2*p0 - s1*p1) / det
	shared := max(1, band/n/((hi-lo)/(n-1)))
	return slope, math.Sqrt(s0 / det * shared), intercept, true
}

// withhold takes back what a wrong clock spoils: for every axis timed by the same two
// clocks as one that leads its stick, all delays, lags and bandwidths. A correlation lag
// below zero that is no such lead is the pilot's answer to the aircraft, not the
// aircraft's to him, and is taken back too.
func (a *analyser) withhold(all []*measured) {
	type clocks struct{ stick, motion int }
	spoiled := map[clocks]bool{}
	for _, m := range all {
		if m.leads != nil {
			a.leadsStick(m)
			spoiled[clocks{m.ax.stick.Source, m.ax.rate.Source}] = true
		}
	}
	for _, m := range all {
		motion := m.ax.rate
		if motion == nil {
			motion = m.ax.attitude
		}
		bad := spoiled[clocks{m.ax.stick.Source, motion.Source}]
		for i := range m.results {
			r := &m.results[i]
			if bad {
				r.forgetTiming()
				continue
			}
			if r.CorrelationLagS != nil && r.CorrelationLagS.Value < 0 {
				a.pilotFollows(m, *r.CorrelationLagS)
				r.CorrelationLagS, r.WeightedCorrelationLagS, r.DoubletLagS = nil, nil, nil
			}
		}
	}
}

// forgetTiming removes every number that rests on the time between stick and motion.
func (r *Result) forgetTiming() {
	r.CorrelationLagS, r.WeightedCorrelationLagS, r.DoubletLagS = nil, nil, nil
	r.TransportDelayS, r.EffectiveDelayS, r.Lag, r.Model = nil, nil, nil, nil
	r.DiscFollowingS, r.BarFollowingS = nil, nil
	r.W180RadS, r.PhaseDelayS = nil, nil
	r.BandwidthPhaseRadS, r.BandwidthGainRadS, r.BandwidthRadS, r.BandwidthDelayCorrelation = nil, nil, nil, 0
}

func (a *analyser) leadsStick(m *measured) {
	ms := m.leads.Times(1000)
	a.find(flight.Finding{
		Code: flight.CodeLeadsStick, Severity: flight.Stop, Channel: string(m.ax.axis.Stick()),
		File: a.hop.SourceOf(m.ax.stick).File,
		Text: fmt.Sprintf("The %s leads the logged %s by %.0f ms (95 %% interval %.0f to %.0f ms), which no aircraft can do: "+
			"delay, lag and bandwidth are withheld.", m.ax.axis.Rate(), m.ax.axis.Stick(), ms.Value, ms.Low, ms.High),
		Advice: "Either a clock is wrong or the stick channel already contains feedback: log the pilot's stick itself, on one clock with the rates.",
	})
}

func (a *analyser) pilotFollows(m *measured, lag flight.Estimate) {
	a.find(flight.Finding{
		Code: flight.CodeNotMeasurable, Severity: flight.Caution, Channel: string(m.ax.axis.Stick()),
		Text: fmt.Sprintf("In %s stick and rate correlate best with the stick %.0f ms behind: the pilot answers the aircraft "+
			"more than the aircraft answers him, so the correlation lag is withheld.", m.ax.axis, -1000*lag.Value),
		Advice: "Fly doublets or a sweep in this axis: only stick movements of the pilot's own choice measure the aircraft.",
	})
}
