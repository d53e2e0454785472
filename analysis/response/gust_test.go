package response

import (
	"context"
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"hopcard/analysis/rotor"
	"hopcard/analysis/segment"
	"hopcard/analysis/simulate"
	"hopcard/analysis/spectrum"
	"hopcard/flight"
)

// Sweeps in strong gusts with the pilot in the loop. With the wind logged at the aircraft,
// sticks and gusts as inputs at once must beat the ratio of spectra of stick and attitude
// alone by three to one in rms phase error below 3 rad/s.
func TestLoggedGustsBeatOneInput(t *testing.T) {
	var several, one, n float64
	for _, seed := range []uint64{9, 12, 13, 16} {
		s := simulate.DrawExcited(seed, simulate.Sweep, 0)
		s.Air = simulate.DrawGusty(seed, false, 180, 0, 0).Air
		f := simulate.Fly(s)
		h := f.Hop()
		segs, _ := segment.Find(h)
		for _, r := range analyse(t, h, segs).Responses {
			if r.Output != Attitude || r.Axis == flight.YawAxis {
				continue
			}
			in, out := rotor.LonStick, rotor.Pitch
			if r.Axis == flight.RollAxis {
				in, out = rotor.LatStick, rotor.Roll
			}
			want := f.Truth.Model.Response(in, out, r.FrequencyRadS)
			single := oneInput(t, h, r)
			for k, w := range r.FrequencyRadS {
				if w > 3 || r.Coherence[k] < 0.8 {
					continue
				}
				a, b := cmplx.Phase(r.H[k]/want[k]), cmplx.Phase(single[k]/want[k])
				several, one, n = several+a*a, one+b*b, n+1
			}
		}
	}
	several, one = math.Sqrt(several/n)*degPerRad, math.Sqrt(one/n)*degPerRad
	t.Logf("rms phase error below 3 rad/s: %.2f deg with sticks and gusts, %.2f deg with one stick (%.0f points)", several, one, n)
	if n < 100 || one < 3*several {
		t.Errorf("rms phase error %.2f deg with all inputs, %.2f deg with one (%.0f points), want a third or less", several, one, n)
	}
}

// oneInput is the response by averaged spectra of stick and attitude alone, on the same
// spans and frequencies.
func oneInput(t *testing.T, h *flight.Hop, r Result) []complex128 {
	t.Helper()
	var runs [][][]float64
	for _, one := range resample([]*flight.Channel{h.Channel(r.Input), h.Channel(r.Axis.Attitude())}, r.Spans) {
		runs = append(runs, one.values)
	}
	s, err := spectrum.Estimate(context.Background(), runs, gridStepS,
		spectrum.Settings{Window: 400, Overlap: 0.75, FFTLength: 2048, MaxRadS: 20})
	if err != nil {
		t.Fatal(err)
	}
	return s.At(r.FrequencyRadS).Solve(0, 1).H
}

// Wind resolved against the heading (310 deg, 12 kt, heading 270 deg: 9.19 and 7.71 kt), with
// a pause in the log kept as a gap.
func TestGustComponents(t *testing.T) {
	const deg, kt = math.Pi / 180, 1852.0 / 3600
	var stamps, speed, from, heading []float64
	for i := range 40 {
		at := float64(i) * 0.5
		if i >= 20 {
			at += 10
		}
		stamps = append(stamps, at)
		speed, from, heading = append(speed, 12*kt), append(from, 310*deg), append(heading, -90*deg)
	}
	h := &flight.Hop{Sources: []flight.Source{{}, {}}, Channels: []flight.Channel{
		{Quantity: flight.WindSpeed, TimeS: stamps, Value: speed}, {Quantity: flight.WindDirectionFrom, TimeS: stamps, Value: from},
		{Quantity: flight.Heading, TimeS: stamps, Value: heading, Source: 1}}}
	a := &analyser{hop: h, air: []flight.Span{{FromS: 0, ToS: 100}}}
	got := a.gusts()
	if len(got) != 2 {
		t.Fatalf("%d channels, want 2", len(got))
	}
	if v := slices.Max(got[0].Value); math.Abs(v-9.1925*kt) > 1e-4 {
		t.Errorf("head wind %.4f kt, want 9.1925", v/kt)
	}
	if v := slices.Max(got[1].Value); math.Abs(v-7.7135*kt) > 1e-4 {
		t.Errorf("wind from the right %.4f kt, want 7.7135", v/kt)
	}
	if spans := reach(got[0]); len(spans) != 2 {
		t.Errorf("%d stretches of wind, want 2", len(spans))
	}
	ax := axisChannels{axis: flight.RollAxis, rate: &h.Channels[2]}
	if got := a.others(ax, nil, got, []flight.Span{{FromS: 1, ToS: 9}}, reaches{}); len(got) != 2 {
		t.Errorf("%d further inputs, want 2", len(got))
	}
	if a.others(ax, nil, got, []flight.Span{{FromS: 0, ToS: 100}}, reaches{}) != nil {
		t.Error("wind over a third of the record must not cost the rest")
	}
	// The same wind as it blows to north and east.
	north, east := make([]float64, len(speed)), make([]float64, len(speed))
	for i := range speed {
		north[i], east[i] = -speed[i]*math.Cos(from[i]), -speed[i]*math.Sin(from[i])
	}
	h.Channels[0] = flight.Channel{Quantity: flight.WindNorth, TimeS: stamps, Value: north}
	h.Channels[1] = flight.Channel{Quantity: flight.WindEast, TimeS: stamps, Value: east}
	if v := slices.Max(a.gusts()[1].Value); math.Abs(v-7.7135*kt) > 1e-4 {
		t.Errorf("wind from the right by components %.4f kt, want 7.7135", v/kt)
	}
	h.Channels[0].Column = "wind_n_est"
	if a.gusts() != nil {
		t.Error("an estimate made on board must not explain the motion it is made from")
	}
	h.Channels = h.Channels[1:]
	if a.gusts() != nil {
		t.Error("wind without direction cannot be resolved")
	}
}
