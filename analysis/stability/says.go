package stability

import (
	"fmt"
	"math"
)

// says puts a mode into words.
func (m *Mode) says() string {
	wn, zeta := m.FrequencyRadS.Value, m.DampingRatio.Value
	period := 2 * math.Pi / (wn * math.Sqrt(max(1-zeta*zeta, 1e-3)))
	name := "rocking"
	if m.Hover {
		name = "slow hover oscillation"
	}
	text := fmt.Sprintf("%s, period %.1f s, ", name, period)
	switch {
	case m.TimeToDoubleS != nil && m.Hover:
		return text + fmt.Sprintf("doubles in %.1f s if left alone: usual without a bar, the pilot must hold it", m.TimeToDoubleS.Value)
	case m.TimeToDoubleS != nil:
		return text + fmt.Sprintf("doubles in %.1f s with the stick still: faster than a pilot can be trusted to catch", m.TimeToDoubleS.Value)
	case m.TimeToHalfS != nil && m.Hover:
		return text + fmt.Sprintf("dies to half in %.1f s by itself", m.TimeToHalfS.Value)
	case m.TimeToHalfS != nil:
		return text + fmt.Sprintf("dies to half in %.1f s, %.1f swings to and fro", m.TimeToHalfS.Value, m.TimeToHalfS.Value/period)
	}
	return text + "neither grows nor dies out clearly"
}
