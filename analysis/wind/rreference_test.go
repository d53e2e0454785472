package wind

import (
	"testing"

	"hopcard/flight"
)

// TestAgainstR compares with testdata/wind/reference.R (R 4.2.2, circular 0.4-95).
func TestAgainstR(t *testing.T) {
	rows, _ := table(t, "../../testdata/wind/wind.csv")
	var at, north, east []float64
	for _, r := range rows {
		at, north, east = append(at, r[0]), append(north, r[1]), append(east, r[2])
	}
	h := windHop(at, nil, nil)
	h.Channels = []flight.Channel{
		{Quantity: flight.WindNorth, TimeS: at, Value: north, Source: 1, Column: "north", Sure: 1},
		{Quantity: flight.WindEast, TimeS: at, Value: east, Source: 1, Column: "east", Sure: 1},
	}
	p := analyse(t, h, flight.Span{}).Whole
	s, _ := pick(h)
	got := map[string]float64{
		"mean_m_s": p.MeanMS.Value, "sd_m_s": p.SDMS.Value, "gust3s_m_s": p.Gust3sMS.Value, "lull3s_m_s": p.Lull3sMS.Value,
		"turbulence_intensity": p.TurbulenceIntensity.Value, "direction_rad": p.DirectionRad.Value,
		"direction_sd_rad": p.DirectionSDRad.Value, "resultant": SumUpDirections(s.dir).R, "arc_rad": p.DirectionArcRad,
	}
	ref, text := table(t, "../../testdata/wind/reference_r.csv")
	if len(text) != len(got) {
		t.Fatalf("%d references for %d numbers", len(text), len(got))
	}
	for i, line := range text {
		v, there := got[line[0]]
		if !there {
			t.Errorf("no number for the reference %s", line[0])
		}
		closeTo(t, line[0], v, ref[i][1], 1e-9)
	}
}
