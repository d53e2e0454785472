//go:build diag

package loop

import (
	"context"
	"fmt"
	"math"
	"math/cmplx"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"encoding/json"

	"hopcard/analysis/response"
	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/analysis/spectrum"
	"hopcard/flight"
	"hopcard/importers"
)

var pilotTruth func(flight.Axis) string

func diagOne(name string, h *flight.Hop, want func(flight.Axis) (wc, pm, gm float64)) {
	ctx := context.Background()
	segs, _ := segment.Find(h)
	a, err := response.Analyse(ctx, h, segs, response.Settings{}, nil)
	if err != nil {
		panic(err)
	}
	flown, ok := segment.Flight(segs)
	if !ok {
		return
	}
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis} {
		o := &one{hop: h, axis: axis, flown: flown, spans: regulating(h, segs, axis, nil)}
		if err := o.run(ctx, a.Responses); err != nil {
			panic(err)
		}
		m := o.margin
		wc, pm, gm := want(axis)
		if m == nil || m.Pilot == nil || o.craft == nil {
			fmt.Printf("D %s %s none\n", name, axis)
			continue
		}
		stick, attitude := h.Channel(axis.Stick()), h.Channel(axis.Attitude())
		r := newRecord(stick, attitude, rateOf(h, attitude, axis), flown, o.spans)
		p, _ := fitPredictor(r)
		s := outsideDiag(ctx, r, p, o.craft, o.pilot)
		e := func(e *flight.Estimate) string {
			if e == nil {
				return "- - -"
			}
			return fmt.Sprintf("%.2f %.2f %.2f", e.Value, e.Low, e.High)
		}
		fmt.Printf("D %s %s %v W %.2f %s P %.1f %s G %.1f %s d/g %.3f p/g %.3f gain %.3f truth %s misfit %.2f fit %.0f T %.0f %s\n", name, axis, !m.Pilot.Biased, wc, e(m.CrossoverRadS), pm, e(m.PhaseMarginDeg), gm, e(m.GainMarginDB), o.pilot.drift/o.pilot.gain, o.pilot.place/o.pilot.gain, o.pilot.gain, pilotTruth(axis), o.pilot.misfit, o.pilot.percent, p.rows*gridStepS, s)
	}
}

func outsideDiag(ctx context.Context, r *record, p *predictor, c *aircraft, y *fitted) string {
	st, at := p.whitenedOf(r.highStick), p.whitenedOf(r.highAttitude)
	var runs [][][]float64
	for _, s := range r.usable(len(p.own), len(p.own)) {
		runs = append(runs, [][]float64{st[s[0]:s[1]], at[s[0]:s[1]]})
	}
	s, err := spectrum.Estimate(ctx, runs, gridStepS, spectrum.Settings{Window: 200, MaxRadS: 35})
	if err != nil {
		return "noest"
	}
	var vv, yy, coh, n, dh, info, floor float64
	var ex, exn float64
	for k, w := range s.OmegaRadS {
		if w > 25 { floor += s.Auto(1)[k] * cmplx.Abs(1) }
		if w < c.w[0] || w < 0.6 || w > 5 || w > c.w[len(c.w)-1] {
			continue
		}
		g, ph, sd := interp(c, w)
		h := cmplx.Rect(math.Exp(g), ph)
		// Cross(i,j) = conj(i) j
		uu, y1, uy := s.Auto(0)[k], s.Auto(1)[k], s.Cross(0, 1)[k]
		svv := y1 - 2*real(cmplx.Conj(h)*uy) + real(h*cmplx.Conj(h))*uu
		svy := complex(y1, 0) - cmplx.Conj(h)*uy // conj(v) y
		svu := cmplx.Conj(uy) - cmplx.Conj(h)*complex(uu, 0) // conj(v) u
		co := real(svy*cmplx.Conj(svy)) / (svv * y1)
		coh += co
		n++
		vv += svv / y1
		yy += real(svy) / y1
		dh += sd * sd * real(h*cmplx.Conj(h)) * uu / svv
		form := y.at(w)
		snn := uu + real(form*cmplx.Conj(form))*y1 + 2*real(form*uy)
		l := form * h
		iv := -svu / svy
		sdd := math.Sqrt(snn / (2 * s.Effective * co * y1))
		info += sdd / cmplx.Abs(form)
		d := cmplx.Abs(iv-form) / math.Hypot(sdd, y.relativeSD(w)*cmplx.Abs(form))
		ex += d * d
		exn += 2
		_ = l
	}
	return fmt.Sprintf("coh %.3f vv/yy %.2f resvy %.3f dh %.3f infosd %.3f excess %.2f eff %.1f n %.0f", coh/n, vv/n, yy/n, dh/n, info/n, ex/exn, s.Effective, n)
}

func interp(c *aircraft, w float64) (g, p, sd float64) {
	for k := 1; k < len(c.w); k++ {
		if w <= c.w[k] {
			f := (w - c.w[k-1]) / (c.w[k] - c.w[k-1])
			return c.lnGain[k-1] + f*(c.lnGain[k]-c.lnGain[k-1]), c.phase[k-1] + f*(c.phase[k]-c.phase[k-1]), c.sd[k]
		}
	}
	panic("x")
}

func TestDiagSim(t *testing.T) {
	n, _ := strconv.Atoi(os.Getenv("HOPS"))
	for _, c := range []struct {
		what   string
		hoverS float64
		rough  bool
		air    float64
		nowind bool
	}{{"still", 100, false, 0, true}, {"tenth", 100, false, 0.1, true}, {"breeze", 100, false, 1, true}, {"gusts", 240, true, 1, true}} {
		if o := os.Getenv("ONLY"); o != "" && o != c.what {
			continue
		}
		for seed := range uint64(n) {
			s := drawHop(seed+5000, c.hoverS, c.rough)
			s.Sensors.NoWind = c.nowind
			s.Air.Gusts *= c.air
			if c.air == 0 {
				s.Air.Mean = simulate.Constant(0)
			}
			f := simulate.Fly(s)
			pilotTruth = func(a flight.Axis) string {
				return fmt.Sprintf("%.3f %.3f %.3f att %.1f", 9.81*s.Pilot.SpeedRadPerMS.Of(a)+1/s.Pilot.IntegralS.Of(a), 9.81*s.Pilot.PlaceRadPerM.Of(a), s.Pilot.GainPerRad.Of(a), margins(attitudeLoop(t, f, a)).phase*degPerRad)
			}
			diagOne(fmt.Sprintf("%s/%d/%v", c.what, seed, s.Head.HasBar()), f.Hop(), func(a flight.Axis) (float64, float64, float64) {
				m := margins(trueLoop(t, f, a))
				return m.crossover, m.phase * degPerRad, m.gain * dbPerNeper
			})
		}
	}
}

func TestDiagHops(t *testing.T) {
	dirs, _ := filepath.Glob("/tmp/indep/hops/[sm]??")
	for _, d := range dirs {
		h, err := importers.ReadHop(context.Background(), d, importers.Options{})
		if err != nil {
			fmt.Println(d, err)
			continue
		}
		b, _ := os.ReadFile(d + ".truth.json")
		var tr struct {
			Response struct {
				Axes map[string]map[string]json.RawMessage
			}
			Pilot json.RawMessage
		}
		if err := json.Unmarshal(b, &tr); err != nil {
			t.Fatal(err)
		}
		pilotTruth = func(a flight.Axis) string { return "x x x att 0" }
		diagOne(filepath.Base(d), h, func(a flight.Axis) (float64, float64, float64) {
			var m map[string]float64
			ax := "roll"
			if a == flight.PitchAxis {
				ax = "pitch"
			}
			json.Unmarshal(tr.Response.Axes[ax]["loop_total_at_stick"], &m)
			v := func(k string) float64 { if x, ok := m[k]; ok { return x }; return math.NaN() }
			return v("crossover_rad_s"), v("phase_margin_deg"), v("gain_margin_db")
		})
	}
}
