package main

import (
	"encoding/json"
	"path/filepath"
	"strings"
	"testing"
)

// Of the demo's two bars the heavier is the slower: that is common practice, and the text
// and the JSON must say so alike.
func TestPredict(t *testing.T) {
	book := demoBook(t)
	following := map[string]float64{}
	for _, name := range []string{"light bar", "heavy bar"} {
		a := call(t, "predict", name, "--logbook", book, "--format", "json")
		var doc struct{ Head map[string]float64 }
		if err := json.Unmarshal([]byte(a.stdout), &doc); err != nil || a.code != exitFine {
			t.Fatalf("exit %d, %v, %q", a.code, err, a.stderr)
		}
		following[name] = doc.Head["bar_following_time_s"]
	}
	if !(following["heavy bar"] > 1.3*following["light bar"] && following["light bar"] > 0) {
		t.Errorf("following times %v", following)
	}
	a := call(t, "predict", "bare head", "--logbook", book, "--delay-ms", "50")
	if a.code != exitFine || a.stderr != "" || !strings.Contains(a.stdout, "GROWS") || strings.Contains(a.stdout, "no dead time") {
		t.Errorf("exit %d, %q\n%s", a.code, a.stderr, a.stdout)
	}
}

func TestPredictRefuses(t *testing.T) {
	book := demoBook(t)
	dir := t.TempDir()
	write(t, filepath.Join(dir, "aircraft.toml"), "format = 1\n[[configuration]]\nname = \"half\"\nrotor_speed_rpm = 500\nhinge_offset = 0.4\n")
	full := "rotor_radius_m = 3\nblade_chord_m = 0.17\nflap_inertia_kg_m2 = 24\nmass_kg = 240\nhub_height_m = 1.1\n" +
		"roll_inertia_kg_m2 = 70\npitch_inertia_kg_m2 = 130\ncyclic_throw_deg = 8\n"
	odd := t.TempDir()
	write(t, filepath.Join(odd, "aircraft.toml"),
		"format = 1\n[[configuration]]\nname = \"odd\"\nrotor_speed_rpm = 500\nhinge_offset = 0.5\n"+full)
	for _, c := range []struct {
		args []string
		code int
		want string
	}{
		{[]string{"predict", "no such", "--logbook", book}, exitBadInput, `no configuration is named "no such"; there is "bare head", "light bar", "heavy bar"`},
		{[]string{"predict", "half", "--logbook", dir}, exitBadInput, "the rotor model needs rotor_radius_m, blade_chord_m, flap_inertia_kg_m2"},
		{[]string{"predict", "odd", "--logbook", odd}, exitBadInput, "hinge offset is 0.5 of the radius, must be 0 to 0.5; correct that dimension"},
		{[]string{"predict", "half", "--logbook", t.TempDir()}, exitBadInput, "name the folder that holds it with --logbook"},
	} {
		a := call(t, c.args...)
		if a.code != c.code || a.stdout != "" {
			t.Errorf("%v: exit %d, %q", c.args, a.code, a.stdout)
		}
		a.oneLine(t, c.want)
	}
	for _, args := range [][]string{
		{"predict"}, {"predict", "a", "b"}, {"predict", "a", "--format", "pdf"}, {"predict", "a", "--delay-ms", "-3"},
		{"predict", "a", "--delay-ms", "NaN"}, {"predict", "a", "--density", "12"},
	} {
		if a := call(t, args...); a.code != exitWrongUsage || a.stdout != "" {
			t.Errorf("%v: exit %d, %q", args, a.code, a.stdout)
		}
	}
}
