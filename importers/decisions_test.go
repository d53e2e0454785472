package importers

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"hopcard/flight"
)

// sameDeep compares two values bit by bit, with all NaN alike.
func sameDeep(a, b reflect.Value) bool {
	switch a.Kind() {
	case reflect.Float64:
		x, y := a.Float(), b.Float()
		return math.Float64bits(x) == math.Float64bits(y) || x != x && y != y
	case reflect.Slice, reflect.Array:
		if a.Len() != b.Len() {
			return false
		}
		for i := range a.Len() {
			if !sameDeep(a.Index(i), b.Index(i)) {
				return false
			}
		}
		return true
	case reflect.Struct:
		if t, ok := a.Interface().(interface{ IsZero() bool }); ok {
			return reflect.DeepEqual(t, b.Interface())
		}
		for i := range a.NumField() {
			if !sameDeep(a.Field(i), b.Field(i)) {
				return false
			}
		}
		return true
	case reflect.Pointer:
		if a.IsNil() || b.IsNil() {
			return a.IsNil() == b.IsNil()
		}
		return sameDeep(a.Elem(), b.Elem())
	}
	return reflect.DeepEqual(a.Interface(), b.Interface())
}

// decisionHops are folders with decisions of many kinds.
func decisionHops(t *testing.T) map[string]string {
	g := newGentle(3000)
	rough := logText(";", written{"ms", g.t, 1000, "%.0f"}, written{"Roll", g.roll, -1 / deg, "%.3f"}, written{"pitch (rad)", g.pitch, 1, "%.5f"},
		written{"p", g.p, 1 / deg, "%.3f"}, written{"q_dps", g.q, 1 / deg, "%.3f"}, written{"az_g", g.az, -1 / flight.StandardGravity, "%.4f"},
		written{`odd "name"\`, g.az, 1, "%.3f"})
	stick := logText(",", written{"t", g.t, 1, "%.2f"}, written{"rud", g.lat, 400, "%.0f"}, written{"ail", g.lat, 400, "%.0f"}, written{"stick lon [%]", g.lon, -100, "%.2f"})
	hops := map[string]string{
		"two logs": writeHop(t, map[string]string{"a.csv": rough, "stick.csv": stick}),
		"one log":  writeHop(t, map[string]string{"a.csv": rough}),
		"notes":    writeHop(t, map[string]string{"a.csv": "utc,roll_deg\n" + rowsAt(600, 20, 0, "%s,1.0\n"), "wind notes.txt": "time, mean (kt), gust (kt), direction\n06:10:05, 6, 9, 210\n"}),
	}
	shared, err := filepath.Glob("../../shared/hops/h0[16]")
	if err == nil {
		for _, dir := range shared {
			files := map[string]string{}
			logs, _, err := flight.HopLogs(dir)
			if err != nil {
				t.Fatal(err)
			}
			for _, p := range logs {
				text, err := os.ReadFile(p)
				if err != nil {
					t.Fatal(err)
				}
				files[filepath.Base(p)] = string(text)
			}
			hops[filepath.Base(dir)] = writeHop(t, files)
		}
	}
	return hops
}

func readWith(t *testing.T, dir, settings string) *flight.Hop {
	t.Helper()
	if err := os.WriteFile(filepath.Join(dir, flight.HopFile), []byte(settings), 0o644); err != nil {
		t.Fatal(err)
	}
	h, err := ReadHop(context.Background(), dir, Options{})
	if err != nil {
		t.Fatalf("%v in\n%s", err, settings)
	}
	return h
}

// TestDecisionsChangeNothing: with the decisions as hop.toml the hop reads the same to the
// last bit and finding.
func TestDecisionsChangeNothing(t *testing.T) {
	for name, dir := range decisionHops(t) {
		t.Run(name, func(t *testing.T) {
			before := mustRead(t, dir)
			text := string(Decisions(before))
			after := readWith(t, dir, text)
			if !sameDeep(reflect.ValueOf(*before), reflect.ValueOf(*after)) {
				t.Errorf("the hop reads otherwise with\n%s\nbefore:%s\nafter:%s", text, listFindings(before), listFindings(after))
			}
			if again := string(Decisions(after)); again != text {
				t.Errorf("the decisions change:\n%s", again)
			}
		})
	}
}

// TestDecisionsHold: every line made to count gives the same numbers, now for certain.
func TestDecisionsHold(t *testing.T) {
	for name, dir := range decisionHops(t) {
		t.Run(name, func(t *testing.T) {
			before := mustRead(t, dir)
			var b strings.Builder
			for line := range strings.Lines(string(Decisions(before))) {
				if len(line) > 1 && line[0] == '#' && line[1] != ' ' {
					line = line[1:]
				}
				b.WriteString(line)
			}
			after := readWith(t, dir, b.String())
			if len(before.Channels) != len(after.Channels) {
				t.Fatalf("%d channels, then %d", len(before.Channels), len(after.Channels))
			}
			for i := range before.Channels {
				p, q := &before.Channels[i], &after.Channels[i]
				if p.Quantity != q.Quantity || p.Sign != q.Sign || p.Unit != q.Unit || len(p.Value) != len(q.Value) {
					t.Fatalf("%s: %s in %s, then %s in %s", p.Column, p.Quantity, p.Unit, q.Quantity, q.Unit)
				}
				if q.Guessed || !q.Derived && q.Sure < 0.99 && q.Quantity != flight.WindSpeed && q.Quantity != flight.WindDirectionFrom {
					t.Errorf("%s: guessed %v, %v sure of what the crew decided", q.Column, q.Guessed, q.Sure)
				}
				for k := range p.Value {
					if !near(p.Value[k], q.Value[k], 1e-12*(1+math.Abs(p.Value[k]))) && p.Value[k] == p.Value[k] ||
						!near(p.TimeS[k], q.TimeS[k], 1e-9*(1+math.Abs(p.TimeS[k]))) {
						t.Fatalf("%s: sample %d is %v at %v, then %v at %v", p.Column, k, p.Value[k], p.TimeS[k], q.Value[k], q.TimeS[k])
					}
				}
			}
			if len(findings(after, flight.CodeUnitGuessed)) > 0 && name != "notes" {
				t.Errorf("guesses after all:%s", listFindings(after))
			}
		})
	}
}
