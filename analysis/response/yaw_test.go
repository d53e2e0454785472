package response

import (
	"math/rand/v2"
	"testing"

	"hopcard/flight"
)

// Pedals that never moved, or that nothing answers, while roll and pitch are fine: a note.
func TestPedalsAreNoMoreThanANote(t *testing.T) {
	p := defaultPlant()
	p.durationS = 80
	for _, c := range []struct {
		name  string
		moved float64
		code  flight.Code
	}{{"unmoved", 0.0002, flight.CodeStickStill}, {"unanswered", 0.05, flight.CodeNoResponse}} {
		h, segs := p.fly()
		rng := rand.New(rand.NewPCG(6, 6))
		stamps := h.Channels[0].TimeS
		pedal := flight.Channel{Quantity: flight.YawAxis.Stick(), TimeS: stamps, Sure: 1}
		rate := flight.Channel{Quantity: flight.YawAxis.Rate(), TimeS: stamps, Sure: 1}
		var held, yaw float64
		for range stamps {
			held += 0.01*(-2*held) + c.moved*0.2*rng.NormFloat64()
			yaw += 0.01*(-yaw) + 0.01*rng.NormFloat64()
			pedal.Value, rate.Value = append(pedal.Value, held), append(rate.Value, yaw)
		}
		h.Channels = append(h.Channels, pedal, rate)
		a := analyse(t, h, segs)
		if !hasFinding(a, c.code, flight.Note) {
			t.Errorf("%s: no %s note in %v", c.name, c.code, a.Findings)
		}
		for _, f := range a.Findings {
			if f.Severity == flight.Stop {
				t.Errorf("%s: stop, %s", c.name, f.Text)
			}
		}
		result(t, a, flight.RollAxis, Rate)
	}
}
