package simulate

import (
	"hopcard/flight"
)

// Hop returns the flight as it would be after a perfect import: sensor noise and rates, but
// right clocks, units and signs. Sticks share the attitude's source if they are sampled
// alike; the wind has a source of its own.
func (f *Flight) Hop() *flight.Hop {
	s := f.Scenario.Sensors
	h := &flight.Hop{
		Name: f.Scenario.Name, StartedAt: f.Scenario.StartedAt, DurationS: f.DurationS(),
		Configuration: f.Scenario.Head.Name,
	}
	i := newInstruments(f)
	mixed := s.AttitudeHz == s.StickHz
	if s.AttitudeHz > 0 {
		q := attitudeQuantities(s)
		role := flight.RoleAttitude
		if mixed {
			q, role = append(q, stickQuantities()...), flight.RoleMixed
		}
		addSource(h, i, "attitude.csv", role, s.AttitudeHz, q)
	}
	if s.StickHz > 0 && !mixed {
		addSource(h, i, "stick.csv", flight.RoleStick, s.StickHz, stickQuantities())
	}
	if s.WindHz > 0 && !s.NoWind {
		addSource(h, i, "wind.csv", flight.RoleWind, s.WindHz,
			[]flight.Quantity{flight.WindSpeed, flight.WindDirectionFrom})
	}
	if len(h.Sources) == 1 {
		h.Sources[0].Clock.AlignedBy = flight.AlignSingle
	}
	return h
}

func attitudeQuantities(s Sensors) []flight.Quantity {
	q := []flight.Quantity{flight.Roll, flight.Pitch}
	if !s.NoHeading {
		q = append(q, flight.Heading)
	}
	if !s.NoRates {
		q = append(q, flight.RollRate, flight.PitchRate, flight.YawRate)
	}
	q = append(q, flight.AccelX, flight.AccelY, flight.AccelZ, flight.Height)
	if !s.NoRotorSpeed {
		q = append(q, flight.RotorSpeed)
	}
	return q
}

func stickQuantities() []flight.Quantity {
	return []flight.Quantity{flight.LonStick, flight.LatStick, flight.Pedal, flight.Collective}
}

func addSource(h *flight.Hop, i *instruments, file string, role flight.Role, rateHz float64, list []flight.Quantity) {
	t := stamps(0, i.f.DurationS(), rateHz)
	h.Sources = append(h.Sources, flight.Source{
		File: file, Role: role, Rows: len(t), RateHz: rateHz,
		Clock: flight.Clock{AlignedBy: flight.AlignUTC}, Dress: "simulated, in memory",
	})
	for _, q := range list {
		h.Channels = append(h.Channels, flight.Channel{
			Quantity: q, TimeS: t, Value: i.read(q, t), Source: len(h.Sources) - 1,
			Column: string(q), Unit: siUnit(q), Sign: 1, Scale: 1, Sure: 1,
		})
	}
}

// siUnit is the unit of flight's values.
func siUnit(q flight.Quantity) flight.Unit {
	switch q.Dimension() {
	case flight.Angle:
		return flight.Rad
	case flight.AngularRate:
		return flight.RadPerS
	case flight.Acceleration:
		return flight.MPerS2
	case flight.StickTravel:
		return flight.UnitTravel
	case flight.Speed:
		return flight.MPerS
	case flight.Length:
		return flight.Metre
	}
	return flight.NoUnit
}
