package segment

import (
	"context"
	"encoding/json"

	"math"
	"os"
	"path/filepath"
	"testing"

	"hopcard/flight"
	"hopcard/importers"
)

const hopsDir = "../../../shared/hops"

type truth struct {
	Segments []struct {
		Kind   string
		T0, T1 float64
		Axis   string
	}
	Flight       [2]float64
	RotorTurning [][2]float64 `json:"rotor_turning"`
}

func readTruth(t testing.TB, name string) truth {
	data, err := os.ReadFile(filepath.Join(hopsDir, name+".truth.json"))
	if err != nil {
		t.Skip("the shared hops are not here")
	}
	var tr truth
	if err := json.Unmarshal(data, &tr); err != nil {
		t.Fatal(err)
	}
	return tr
}

func loadHop(t testing.TB, name string) (*flight.Hop, truth) {
	tr := readTruth(t, name)
	h, err := importers.ReadHop(context.Background(), filepath.Join(hopsDir, name), importers.Options{})
	if err != nil {
		t.Fatal(err)
	}
	return h, tr
}

// kinds gives our name of a truth kind.
func kinds(truthKind string) flight.SegmentKind {
	switch truthKind {
	case "3211":
		return flight.Steps
	case "doublet", "sweep", "rap":
		return flight.SegmentKind(truthKind)
	case "stick_stop_pulse": // a strike of the stick to its stop and back
		return flight.Rap
	}
	return ""
}

func TestFindAgainstTruth(t *testing.T) {
	for _, name := range []string{"h01", "h06", "h08"} {
		t.Run(name, func(t *testing.T) {
			h, tr := loadHop(t, name)
			segs, findings := Find(h)
			if len(findings) != 0 {
				t.Errorf("findings: %v", findings)
			}
			checkFlight(t, segs, tr)
			checkInputs(t, segs, tr)
			for _, s := range tr.Segments {
				switch s.Kind {
				case "control_check":
					near(t, segs, flight.ControlCheck, s.T0, s.T1, 0.5)
				case "spin_up":
					near(t, segs, flight.SpinUp, s.T0, s.T1, 1.5)
				case "spin_down":
					near(t, segs, flight.SpinDown, s.T0, s.T1, 1.5)
				case "lift_off":
					near(t, segs, flight.LiftOff, s.T0, s.T1, 2)
				case "landing":
					near(t, segs, flight.Landing, s.T0, s.T1, 2)
				case "hands_still":
					near(t, segs, flight.HandsStill, s.T0, s.T1, 0.5)
				case "sync_knocks":
					near(t, segs, flight.Knocks, s.T0, s.T1, 1)
				}
			}
		})
	}
}

// near asks for a segment of the kind with both edges within tolS.
func near(t *testing.T, segs []flight.Segment, kind flight.SegmentKind, fromS, toS, tolS float64) {
	t.Helper()
	for _, s := range segs {
		if s.Kind == kind && math.Abs(s.Span.FromS-fromS) <= tolS && math.Abs(s.Span.ToS-toS) <= tolS {
			return
		}
	}
	t.Errorf("no %s near %.2f to %.2f s", kind, fromS, toS)
}

func checkFlight(t *testing.T, segs []flight.Segment, tr truth) {
	t.Helper()
	flown, ok := Flight(segs)
	if !ok || math.Abs(flown.FromS-tr.Flight[0]) > 1 || math.Abs(flown.ToS-tr.Flight[1]) > 1 {
		t.Errorf("flight %v %v, want %v", flown, ok, tr.Flight)
	}
	turning, ok := Turning(segs)
	if want := tr.RotorTurning[0]; !ok || math.Abs(turning.FromS-want[0]) > 2 || math.Abs(turning.ToS-want[1]) > 2 {
		t.Errorf("rotor turning %v %v, want %v", turning, ok, want)
	}
}

// checkInputs asks that each test input is found once, in its axis, with its edges within
// 0.5 s (1 s at the end of a sweep, 2 s at its start, whose slow stroke lies in the pilot's
// own work), and that nothing else is called an input.
func checkInputs(t *testing.T, segs []flight.Segment, tr truth) {
	t.Helper()
	wanted := 0
	for _, w := range tr.Segments {
		kind := kinds(w.Kind)
		if kind == "" {
			continue
		}
		wanted++
		found := 0
		for _, s := range segs {
			if s.Kind != kind || string(s.Axis) != w.Axis {
				continue
			}
			from, to := s.Span.FromS-w.T0, s.Span.ToS-w.T1
			if kind == flight.Sweep {
				if s.Span.Overlaps(flight.Span{FromS: w.T0, ToS: w.T1}) && math.Abs(to) < 1 && math.Abs(from) < 2 {
					found++
				}
			} else if math.Abs(from) <= 0.5 && math.Abs(to) <= 0.5 {
				found++
			}
		}
		if found != 1 {
			t.Errorf("%s in %s at %.2f to %.2f s found %d times", kind, w.Axis, w.T0, w.T1, found)
		}
	}
	got := 0
	for _, s := range segs {
		if IsInput(s.Kind) {
			got++
		}
	}
	if got != wanted {
		t.Errorf("%d inputs found, %d flown", got, wanted)
	}
}

// TestFindWithLess takes sensors away: the flight must still be found within 2 s, and
// what is left must not be called something else.
func TestFindWithLess(t *testing.T) {
	att := []flight.Quantity{flight.Roll, flight.Pitch}
	rate := []flight.Quantity{flight.RollRate, flight.PitchRate}
	stick := []flight.Quantity{flight.LatStick, flight.LonStick}
	for _, c := range []struct {
		name string
		keep [][]flight.Quantity
	}{
		{"attitude and stick", [][]flight.Quantity{att, stick}},
		{"attitude alone", [][]flight.Quantity{att}},
		{"rates and stick", [][]flight.Quantity{rate, stick}},
		{"roll alone", [][]flight.Quantity{{flight.Roll}}},
	} {
		for _, name := range []string{"h01", "h06", "h08"} {
			t.Run(c.name+" "+name, func(t *testing.T) {
				h, tr := loadHop(t, name)
				full := h.Channels
				h.Channels = nil
				hasStick := false
				for _, ch := range full {
					for _, group := range c.keep {
						for _, q := range group {
							if ch.Quantity == q {
								h.Channels = append(h.Channels, ch)
								hasStick = hasStick || q == flight.LatStick
							}
						}
					}
				}
				segs, findings := Find(h)
				flown, ok := Flight(segs)
				if !ok || math.Abs(flown.FromS-tr.Flight[0]) > 2 || math.Abs(flown.ToS-tr.Flight[1]) > 2 {
					t.Errorf("flight %v, want %v", flown, tr.Flight)
				}
				if hasStick {
					checkInputs(t, segs, tr)
				} else if len(findings) != 1 || findings[0].Code != flight.CodeMissing {
					t.Errorf("findings %v, want one that the stick is missing", findings)
				}
			})
		}
	}
}

// TestRealDoublets: a real helicopter of the 550 class, flown with rounded doublets in roll
// from about 21 s, in pitch from about 40 and 54 s (read off the record by eye), all in
// the air.
func TestRealDoublets(t *testing.T) {
	path := filepath.Join("../../../shared/data/real-helicopter", "doublets.csv")
	if _, err := os.Stat(path); err != nil {
		t.Skip("the shared data are not here")
	}
	h, err := importers.ReadHop(context.Background(), path, importers.Options{})
	if err != nil {
		t.Fatal(err)
	}
	segs, _ := Find(h)
	if n := kindsOf(segs); n[flight.Ground] != 0 || n[flight.LiftOff] != 0 {
		t.Errorf("ground or lift-off found: %v", segs)
	}
	near(t, segs, flight.Steps, 20.9, 28.3, 0.5)
	near(t, segs, flight.Steps, 40.2, 44.9, 0.5)
	near(t, segs, flight.Doublet, 54.3, 57, 0.5)
}
