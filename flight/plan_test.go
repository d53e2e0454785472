package flight

import (
	"errors"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

func somePlan() *Plan {
	return &Plan{
		Format: SettingsFormat, Configuration: "light bar", LastHop: "2031-05-03-a", Step: NextStep,
		Changed: []string{"stabiliser bar fitted, 0.45 kg at each tip", "a \"quote\", a \\ and a\nline"},
		WishMS:  10, KnocksBefore: 3, KnocksAfter: 3,
		Limits: Limits{AttitudeDeg: 12, RateDegS: 60, WindMeanMS: 2.5, GustSpreadMS: 3, ControlLeftPercent: 20},
		Inputs: []PlannedInput{
			{Kind: Doublet, Axis: PitchAxis, Count: 2, LengthS: 1.6, SizePercent: 6},
			{Kind: Sweep, Axis: RollAxis, Count: 1, LengthS: 45, SizePercent: 4, SizeEndPercent: 8, FromRadS: 0.63, ToRadS: 12},
			{Kind: HandsStill, Count: 2, LengthS: 5},
		},
	}
}

func TestPlanRoundTrip(t *testing.T) {
	dir := t.TempDir()
	if p, ok, err := ReadPlan(dir); p != nil || ok || err != nil {
		t.Fatalf("without a file: %v %v %v", p, ok, err)
	}
	want := somePlan()
	if err := WritePlan(dir, want, false); err != nil {
		t.Fatal(err)
	}
	got, ok, err := ReadPlan(dir)
	if err != nil || !ok {
		t.Fatal(ok, err)
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("read %+v\nwrote %+v", got, want)
	}
}

// Whatever text a name or a change holds comes back as it was.
func TestPlanKeepsAnyText(t *testing.T) {
	dir := t.TempDir()
	rapid.Check(t, func(t *rapid.T) {
		want := somePlan()
		want.Configuration = rapid.String().Draw(t, "configuration")
		want.Changed = []string{rapid.String().Draw(t, "changed")}
		if err := WritePlan(dir, want, true); err != nil {
			t.Fatal(err)
		}
		got, _, err := ReadPlan(dir)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("read %q %q, wrote %q %q", got.Configuration, got.Changed, want.Configuration, want.Changed)
		}
	})
}

func TestPlanIsKept(t *testing.T) {
	dir := t.TempDir()
	first, second := somePlan(), somePlan()
	second.WishMS = 5
	if err := WritePlan(dir, first, false); err != nil {
		t.Fatal(err)
	}
	if err := WritePlan(dir, second, false); !errors.Is(err, ErrPlanThere) {
		t.Errorf("a second plan: %v", err)
	}
	if p, _, err := ReadPlan(dir); err != nil || p.WishMS != 10 {
		t.Errorf("wish %v, %v", p, err)
	}
	if err := WritePlan(dir, second, true); err != nil {
		t.Error(err)
	}
	if p, _, err := ReadPlan(dir); err != nil || p.WishMS != 5 {
		t.Errorf("wish %v, %v", p, err)
	}
}

func TestPlanRefused(t *testing.T) {
	for _, c := range []struct{ name, text, says string }{
		{"unknown key", "format = 1\nconfigration = \"x\"\n", `plan.toml:2: key "configration" is not known; did you mean "configuration"?`},
		{"unknown key of an input", "format = 1\n[[input]]\nkind = \"doublet\"\nsize_pct = 3\n", `:4: key "input.size_pct" is not known; did you mean "size_percent"?`},
		{"not TOML", "format = 1\nwish_ms = ten\n", "plan.toml:2:"},
		{"no format", "wish_ms = 10\n", "format = 0: this version reads format = 1"},
		{"unknown step", "format = 1\nstep = \"giant leap\"\n", `step = "giant leap" is not known`},
		{"wish not a number", "format = 1\nwish_ms = nan\n", "wish_ms = NaN: write a number"},
		{"infinite limit", "format = 1\n[limits]\nattitude_deg = inf\n", "attitude_deg = +Inf"},
		{"negative limit", "format = 1\n[limits]\nrate_deg_s = -1\n", "rate_deg_s = -1"},
		{"negative knocks", "format = 1\nknocks_after = -3\n", "knocks cannot be negative"},
		{"kind", input("kind = \"doublets\""), `input 1: kind = "doublets" cannot be planned; did you mean "doublet"?`},
		{"no axis", input("kind = \"doublet\"\ncount = 1\nlength_s = 1.6\nsize_percent = 3"), `axis = "": write "roll"`},
		{"axis for hover", input("kind = \"hover\"\naxis = \"roll\"\ncount = 1\nlength_s = 30"), "a hover has no axis"},
		{"no count", input("kind = \"hover\"\nlength_s = 30"), "count = 0"},
		{"no length", input("kind = \"hover\"\ncount = 1"), "length_s = 0"},
		{"no size", input("kind = \"doublet\"\naxis = \"roll\"\ncount = 1\nlength_s = 1.6"), "size_percent is missing"},
		{"size beyond the stop", input("kind = \"doublet\"\naxis = \"roll\"\ncount = 1\nlength_s = 1.6\nsize_percent = 101"), "size_percent = 101"},
		{"sweep without band", input("kind = \"sweep\"\naxis = \"roll\"\ncount = 1\nlength_s = 45\nsize_percent = 3"), "a sweep needs from_rad_s"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			if err := os.WriteFile(filepath.Join(dir, PlanFile), []byte(c.text), 0o644); err != nil {
				t.Fatal(err)
			}
			p, ok, err := ReadPlan(dir)
			var settings *SettingsError
			if p != nil || ok || !errors.As(err, &settings) || !strings.Contains(err.Error(), c.says) {
				t.Errorf("%v %v %v, want an error with %q", p, ok, err, c.says)
			}
		})
	}
	bad := somePlan()
	bad.Inputs[0].Count = 0
	dir := t.TempDir()
	if err := WritePlan(dir, bad, false); err == nil {
		t.Error("a plan that could not be read again was written")
	}
	if entries, _ := os.ReadDir(dir); len(entries) > 0 {
		t.Errorf("left behind: %v", entries)
	}
}

func input(lines string) string { return "format = 1\n[[input]]\n" + lines + "\n" }

func TestLimitsSet(t *testing.T) {
	dir := t.TempDir()
	if l, err := LimitsSet(dir); err != nil || l != (Limits{}) {
		t.Errorf("without a file: %+v %v", l, err)
	}
	text := "format = 1\n[limits]\nattitude_deg = 15\n"
	if err := os.WriteFile(filepath.Join(dir, AircraftFile), []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	if l, err := LimitsSet(dir); err != nil || l != (Limits{AttitudeDeg: 15}) {
		t.Errorf("%+v %v", l, err)
	}
}

func FuzzReadPlan(f *testing.F) {
	f.Add(somePlan().Text())
	f.Add(input("kind = \"sweep\"\ncount = 1"))
	f.Fuzz(func(t *testing.T, text string) {
		p, err := parsePlan(PlanFile, []byte(text))
		if err != nil {
			return
		}
		// What can be read can be written, and is then the same.
		q, err := parsePlan(PlanFile, []byte(p.Text()))
		if err != nil || q.Text() != p.Text() {
			t.Errorf("%v: %+v became %+v", err, p, q)
		}
	})
}
