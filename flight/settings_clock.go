package flight

import (
	"fmt"
	"math"
	"strings"
)

// checkClock makes sure that what is said about a clock are numbers that can be meant.
func (f *FileSettings) checkClock(path string) error {
	for _, c := range []struct {
		name  string
		value *float64
		least float64
		want  string
	}{
		{"clock_offset_s", f.ClockOffsetS, math.Inf(-1), "write a number of seconds"},
		{"clock_drift_ppm", f.ClockDriftPPM, -1e6, "write millionths above -1000000"},
		{"clock_interval_s", f.ClockIntervalS, 0, "write seconds above 0, the half width of the 95 % interval of clock_offset_s"},
	} {
		if c.value != nil && !(*c.value > c.least && !math.IsInf(*c.value, 0)) {
			return &SettingsError{path, 0, fmt.Sprintf("file %q: %s = %g: %s", f.Name, c.name, *c.value, c.want)}
		}
	}
	if f.ClockIntervalS != nil && f.ClockOffsetS == nil {
		return &SettingsError{path, 0, fmt.Sprintf(
			"file %q: clock_interval_s says how good clock_offset_s is, which is not given: add it or leave both out", f.Name)}
	}
	return nil
}

// takeOffsetSteps notes to how many digits each clock_offset_s is written in the text that
// s was decoded from: a number read no longer tells 1.5 from 1.500.
func (s *HopSettings) takeOffsetSteps(text string) {
	ts, err := scanTables(text)
	if err != nil {
		return // decoded all the same; the importer goes by the number's own digits
	}
	n := 0
	for i := range ts {
		if ts[i].path != "file" || n >= len(s.Files) {
			continue
		}
		f := &s.Files[n]
		n++
		k := ts[i].key("clock_offset_s")
		if k == nil || f.ClockOffsetS == nil || f.Name != ts[i].name() {
			continue
		}
		_, written, _ := strings.Cut(text[k.from:k.to], "=")
		f.ClockOffsetStepS = lastDigit(strings.TrimSpace(written))
	}
}

// lastDigit returns one unit of the last digit of a decimal number as written, 0 for
// numbers with an exponent.
func lastDigit(written string) float64 {
	if strings.ContainsAny(written, "eE") {
		return 0
	}
	_, digits, _ := strings.Cut(strings.ReplaceAll(written, "_", ""), ".")
	return math.Pow(10, -float64(len(digits)))
}
