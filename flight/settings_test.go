package flight

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
)

func write(t *testing.T, dir, name, text string) {
	t.Helper()
	path := filepath.Join(dir, name)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

func TestReadAircraft(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, AircraftFile, `format = 1
name = "Whinchat"
field = "Marsh End"
rotor_turns = "clockwise"
[limits]
attitude_deg = 12
[[configuration]]
name = "light bar"
rotor_speed_rpm = 497
[configuration.bar]
weight_kg = 0.4
`)
	a, ok, err := ReadAircraft(dir)
	if err != nil || !ok {
		t.Fatal(ok, err)
	}
	c := a.Configuration("light bar")
	if c == nil || c.Bar == nil || c.Bar.WeightKg != 0.4 || c.RotorSpeedRPM != 497 {
		t.Errorf("configuration %+v", c)
	}
	if a.Configuration("heavy bar") != nil {
		t.Error("found a configuration that is not there")
	}
	if a.Limits.AttitudeDeg != 12 || a.Limits.RateDegS != DefaultLimits().RateDegS {
		t.Errorf("limits %+v: want the one that is set, the rest by default", a.Limits)
	}
	if a.WindClass != DefaultWindClass() {
		t.Errorf("wind class %+v, want the defaults", a.WindClass)
	}
}

func TestNoAircraftFileMeansDefaults(t *testing.T) {
	a, ok, err := ReadAircraft(t.TempDir())
	if err != nil || ok || a.Limits != DefaultLimits() {
		t.Errorf("%+v, %v, %v", a, ok, err)
	}
}

func TestSettingsErrors(t *testing.T) {
	for _, c := range []struct {
		name, file, text string
		line             int
		wants            []string
	}{
		{"unknown key", AircraftFile, "format = 1\nnmae = \"x\"\n", 2, []string{`"nmae"`, `did you mean "name"`}},
		{"unknown key in table", AircraftFile, "format = 1\n[limits]\natitude_deg = 3\n", 3, []string{"limits.atitude_deg", `"attitude_deg"`}},
		{"unknown key in array", AircraftFile, "format = 1\n[[configuration]]\nname = \"a\"\n[configuration.bar]\nwieght_kg = 1\n", 5, []string{`"weight_kg"`}},
		{"nothing like it", HopFile, "format = 1\nzzzzzz = 3\n", 2, []string{"known here", "configuration", "notes"}},
		{"syntax", AircraftFile, "format = 1\nname = Whinchat\n", 2, nil},
		{"wrong type", AircraftFile, "format = 1\nname = 3\n", 2, nil},
		{"no format", HopFile, "notes = \"a\"\n", 0, []string{"format = 0", "format = 1"}},
		{"rotor", AircraftFile, "format = 1\nrotor_turns = \"left\"\n", 0, []string{"counter-clockwise"}},
		{"nameless", AircraftFile, "format = 1\n[[configuration]]\nnote = \"a\"\n", 0, []string{"no name"}},
		{"twice", AircraftFile, "format = 1\n[[configuration]]\nname = \"a\"\n[[configuration]]\nname = \"a\"\n", 0, []string{"rename"}},
		{"negative", AircraftFile, "format = 1\n[limits]\nrate_deg_s = -3\n", 3, []string{"limits: rate_deg_s = -3", "a number above 0 (deg/s)", "the usual 60"}},
		{"written zero", AircraftFile, "format = 1\n[limits]\nwind_mean_m_s = 0\n", 3, []string{"wind_mean_m_s = 0", "above 0 (m/s)", "the usual 5"}},
		{"margin", AircraftFile, "format = 1\n[limits]\n\ngain_margin_db = -1\n", 4, []string{"gain_margin_db", "the usual 6"}},
		{"damping", AircraftFile, "format = 1\n[limits]\ndamping_ratio = 2\n", 3, []string{"from -1 to 1", "the usual 0"}},
		{"percent", AircraftFile, "format = 1\nlimits.control_left_percent = 120\n", 2, []string{"0 to 100 (percent)"}},
		{"calm", AircraftFile, "format = 1\n[wind_class]\ncalm_mean_m_s = -2\n", 3, []string{"wind_class: calm_mean_m_s = -2"}},
		{"anemometer", AircraftFile, "format = 1\n[anemometer]\ndistance_constant_m = -1\n", 3, []string{"from 0 (m)", "not known"}},
		{"mass", AircraftFile, "format = 1\n[[configuration]]\nname = \"a\"\nmass_kg = 240\n[[configuration]]\nname = \"b\"\nmass_kg = 0\n", 7, []string{`configuration "b": mass_kg = 0`, "above 0 (kg)", "not known"}},
		{"not a number", AircraftFile, "format = 1\n[[configuration]]\nname = \"a\"\nhub_height_m = nan\n", 4, []string{"hub_height_m = NaN"}},
		{"bar", AircraftFile, "format = 1\n[[configuration]]\nname = \"a\"\n[configuration.bar]\nweight_kg = -0.4\n", 5, []string{`configuration "a", bar: weight_kg = -0.4`, "from 0 (kg)"}},
		{"links", AircraftFile, "format = 1\n[[configuration]]\nname = \"a\"\n[configuration.bar]\nbar_to_blade = -inf\n", 5, []string{"bar_to_blade", "write a number"}},
		{"paddle", AircraftFile, "format = 1\n[[configuration]]\nname = \"a\"\n[configuration.bar]\npaddle_from_m = 0.7\npaddle_to_m = 0.5\n", 6, []string{"paddle_to_m = 0.5", "above paddle_from_m = 0.7"}},
		{"in one line", AircraftFile, "format = 1\nlimits = { rate_deg_s = -3 }\n", 0, []string{"rate_deg_s = -3"}},
		{"quantity", HopFile, "format = 1\n[[file]]\nname = \"a.csv\"\n[[file.column]]\nname = \"x\"\nquantity = \"rol attitude\"\n", 0, []string{`did you mean "roll attitude"`}},
		{"sign", HopFile, "format = 1\n[[file]]\nname = \"a.csv\"\n[[file.column]]\nname = \"x\"\nsign = 2\n", 0, []string{"1 or -1"}},
		{"unit of no quantity", HopFile, "format = 1\n[[file]]\nname = \"a.csv\"\n[[file.column]]\nname = \"x\"\nquantity = \"pitch attitude\"\nunit = \"kt\"\n", 0, []string{`file "a.csv", column "x"`, "kt is no unit of pitch attitude", "deg, rad"}},
		{"unit unknown", HopFile, "format = 1\n[[file]]\nname = \"a.csv\"\n[[file.column]]\nname = \"x\"\nunit = \"rads\"\n", 0, []string{`column "x"`, `did you mean "rad"`}},
		{"offset", HopFile, "format = 1\n[[file]]\nname = \"a.csv\"\nclock_offset_s = nan\n", 0, []string{`file "a.csv"`, "clock_offset_s", "number of seconds"}},
		{"drift", HopFile, "format = 1\n[[file]]\nname = \"a.csv\"\nclock_drift_ppm = -1e6\n", 0, []string{"clock_drift_ppm"}},
		{"interval", HopFile, "format = 1\n[[file]]\nname = \"a.csv\"\nclock_offset_s = 3.0\nclock_interval_s = 0.0\n", 0, []string{"clock_interval_s", "above 0"}},
		{"interval alone", HopFile, "format = 1\n[[file]]\nname = \"a.csv\"\nclock_interval_s = 0.01\n", 0, []string{"clock_offset_s", "not given"}},
		{"interval misspelt", HopFile, "format = 1\n[[file]]\nname = \"a.csv\"\nclock_intervall_s = 0.01\n", 4, []string{`did you mean "clock_interval_s"`}},
		{"exclude", HopFile, "format = 1\n[[exclude]]\nfrom_s = 5\nto_s = 5\n", 0, []string{"after the start"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			write(t, dir, c.file, c.text)
			var err error
			if c.file == AircraftFile {
				_, _, err = ReadAircraft(dir)
			} else {
				_, err = ReadHopSettings(dir)
			}
			var bad *SettingsError
			if !errors.As(err, &bad) {
				t.Fatalf("error %v, want a SettingsError", err)
			}
			if bad.Line != c.line {
				t.Errorf("line %d, want %d: %v", bad.Line, c.line, err)
			}
			if strings.Contains(err.Error(), "\n") {
				t.Errorf("more than one line: %q", err)
			}
			for _, w := range append(c.wants, c.file) {
				if !strings.Contains(err.Error(), w) {
					t.Errorf("%q does not contain %q", err, w)
				}
			}
		})
	}
}

// Zeros that mean something and angles of either sign are taken, and what is left out.
func TestNumbersThatCanBeMeant(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, AircraftFile, `format = 1
[limits]
damping_ratio = 0
[anemometer]
distance_constant_m = 0
[[configuration]]
name = "a"
hinge_offset = 0
delta3_deg = -20
[configuration.bar]
weight_kg = 0
bar_to_blade = -0.5
[[configuration]]
name = "nothing known"
`)
	if _, _, err := ReadAircraft(dir); err != nil {
		t.Error(err)
	}
}

// Every number of aircraft.toml has a rule: a key that is added later cannot be forgotten.
func TestEveryNumberHasARule(t *testing.T) {
	a := &Aircraft{Configurations: []Configuration{{Bar: &Bar{}}}}
	rules := map[*float64]bool{}
	for _, r := range append(a.numberRules(), a.Configurations[0].numberRules("")...) {
		rules[r.value] = true
	}
	var look func(v reflect.Value, name string)
	look = func(v reflect.Value, name string) {
		switch v.Kind() {
		case reflect.Pointer:
			look(v.Elem(), name)
		case reflect.Slice:
			look(v.Index(0), name)
		case reflect.Struct:
			for i := range v.NumField() {
				look(v.Field(i), name+"."+v.Type().Field(i).Tag.Get("toml"))
			}
		case reflect.Float64:
			if !rules[v.Addr().Interface().(*float64)] {
				t.Errorf("no rule for %s", name)
			}
		}
	}
	look(reflect.ValueOf(a), "")
}

func TestHopSettings(t *testing.T) {
	dir := t.TempDir()
	if s, err := ReadHopSettings(dir); s != nil || err != nil {
		t.Errorf("no file: %+v, %v", s, err)
	}
	write(t, dir, HopFile, `format = 1
configuration = "bare head"
started_at = 2031-05-04T06:10:30Z
[[file]]
name = "b.csv"
clock_offset_s = 7.5
[[file.column]]
name = "adc_roll"
quantity = "lateral stick"
unit = "counts"
neutral = 509
full_throw = 470
`)
	s, err := ReadHopSettings(dir)
	if err != nil {
		t.Fatal(err)
	}
	c := s.File("b.csv").Column("adc_roll")
	if c == nil || c.Quantity != LatStick || *c.Neutral != 509 || *s.File("b.csv").ClockOffsetS != 7.5 {
		t.Errorf("%+v", c)
	}
	var none *HopSettings
	if none.File("b.csv").Column("x") != nil || s.File("c.csv") != nil || s.File("b.csv").Column("x") != nil {
		t.Error("settings that are not there must be nil")
	}
}

// TestOffsetSteps: the digits that an offset is written with are not lost, wherever it
// stands.
func TestOffsetSteps(t *testing.T) {
	for text, want := range map[string]float64{
		"1.500": 1e-3, "-12.5": 0.1, "12": 1, "1_000.25": 0.01, "+0.0": 0.1, "1e-3": 0, "112.0071 # tapped": 1e-4,
	} {
		dir := t.TempDir()
		write(t, dir, HopFile, "format = 1\n[[file]]\nname = \"a.csv\"\n\n[[file.column]]\nname = \"clock_offset_s\"\n\n"+
			"[[file]]\nname = \"b.csv\"\nclock_offset_s = "+text+"\nclock_interval_s = 0.02\n")
		s, err := ReadHopSettings(dir)
		if err != nil {
			t.Fatal(err)
		}
		a, b := s.File("a.csv"), s.File("b.csv")
		if a.ClockOffsetStepS != 0 || math.Abs(b.ClockOffsetStepS-want) > 1e-12 || *b.ClockIntervalS != 0.02 {
			t.Errorf("%s: steps of %v and %v s, want 0 and %v", text, a.ClockOffsetStepS, b.ClockOffsetStepS, want)
		}
	}
	dir := t.TempDir()
	write(t, dir, HopFile, "format = 1\nfile = [{name = \"a.csv\", clock_offset_s = 1.50}]\n")
	if s, err := ReadHopSettings(dir); err != nil || *s.File("a.csv").ClockOffsetS != 1.5 || s.File("a.csv").ClockOffsetStepS != 0 {
		t.Errorf("written as one value: %+v, %v", s, err)
	}
}

func FuzzSettings(f *testing.F) {
	f.Add("format = 1\n[limits]\nattitude_deg = 3\n")
	f.Add("format = 1\n[[file]]\n[[file.column]]\nname = \"a\"\nx.y.z = 3\n")
	f.Fuzz(func(t *testing.T, text string) {
		for _, v := range []any{&Aircraft{}, &HopSettings{}} {
			if err := decodeSettings("s.toml", []byte(text), v); err != nil && !strings.HasPrefix(err.Error(), "s.toml") {
				t.Errorf("error does not name the file: %v", err)
			}
		}
	})
}

func TestEditDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{{"", "", 0}, {"kitten", "sitting", 3}, {"name", "nmae", 2}, {"", "abc", 3}, {"abc", "abc", 0}} {
		if got := editDistance(c.a, c.b); got != c.want {
			t.Errorf("%q to %q: %d, want %d", c.a, c.b, got, c.want)
		}
	}
}
