package background

import "testing"

func TestIsLight(t *testing.T) {
	for _, c := range []struct {
		own, colours string
		want         bool
	}{
		{"", "", false}, {"light", "", true}, {"dark", "0;15", false}, {"light", "15;0", true},
		{"", "0;15", true}, {"", "0;default;15", true}, {"", "0;7", true}, {"", "15;0", false},
		{"", "7", false}, {"", ";", false}, {"pink", "0;15", true},
	} {
		env := map[string]string{Variable: c.own, "COLORFGBG": c.colours}
		if got := IsLight(func(k string) string { return env[k] }); got != c.want {
			t.Errorf("%s=%q COLORFGBG=%q: light %v, want %v", Variable, c.own, c.colours, got, c.want)
		}
	}
}
