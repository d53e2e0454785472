package flight

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// SettingsError says what is wrong in a settings file, and where. Line is 1-based, 0 if
// the file as a whole is meant.
type SettingsError struct {
	File string
	Line int
	Text string
}

func (e *SettingsError) Error() string {
	if e.Line == 0 {
		return fmt.Sprintf("%s: %s", e.File, e.Text)
	}
	return fmt.Sprintf("%s:%d: %s", e.File, e.Line, e.Text)
}

// ReadAircraft reads aircraft.toml in dir and fills limits and thresholds that it does
// not set with their defaults. It returns an aircraft of defaults and ok false if
// there is no such file, and a *SettingsError if its text is wrong.
func ReadAircraft(dir string) (a *Aircraft, ok bool, err error) {
	a = &Aircraft{}
	path := filepath.Join(dir, AircraftFile)
	data, err := os.ReadFile(path)
	switch {
	case errors.Is(err, os.ErrNotExist):
	case err != nil:
		return nil, false, err
	default:
		ok = true
		if err := decodeSettings(path, data, a); err != nil {
			return nil, false, err
		}
		if err := a.check(path, string(data)); err != nil {
			return nil, false, err
		}
	}
	a.Limits = a.Limits.OrDefault()
	a.WindClass = a.WindClass.OrDefault()
	return a, ok, nil
}

// ReadHopSettings reads hop.toml in dir. It returns nil if there is no such file, and a
// *SettingsError if its text is wrong.
func ReadHopSettings(dir string) (*HopSettings, error) {
	path := filepath.Join(dir, HopFile)
	data, err := os.ReadFile(path)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	s := &HopSettings{}
	if err := decodeSettings(path, data, s); err != nil {
		return nil, err
	}
	if err := s.check(path); err != nil {
		return nil, err
	}
	if err := s.checkUnits(path); err != nil {
		return nil, err
	}
	s.takeOffsetSteps(string(data))
	return s, nil
}

// check makes sure that what was decoded from text can be meant.
func (a *Aircraft) check(path, text string) error {
	if a.Format != SettingsFormat {
		return formatError(path, a.Format)
	}
	switch a.RotorTurns {
	case "", "clockwise", "counter-clockwise":
	default:
		return &SettingsError{path, 0, fmt.Sprintf(
			"rotor_turns = %q: write \"clockwise\" or \"counter-clockwise\", as seen from above", a.RotorTurns)}
	}
	seen := map[string]bool{}
	for i, c := range a.Configurations {
		if c.Name == "" {
			return &SettingsError{path, 0, fmt.Sprintf("configuration %d has no name: add name = \"...\"", i+1)}
		}
		if seen[c.Name] {
			return &SettingsError{path, 0, fmt.Sprintf("two configurations are named %q: rename one", c.Name)}
		}
		seen[c.Name] = true
	}
	return a.checkNumbers(path, text)
}

func (s *HopSettings) check(path string) error {
	if s.Format != SettingsFormat {
		return formatError(path, s.Format)
	}
	for i := range s.Files {
		f := &s.Files[i]
		if err := f.checkClock(path); err != nil {
			return err
		}
		for _, c := range f.Columns {
			if c.Quantity != "" && !slices.Contains(Quantities(), c.Quantity) {
				return &SettingsError{path, 0, fmt.Sprintf("file %q, column %q: quantity %q is not known%s",
					f.Name, c.Name, c.Quantity, Nearest(string(c.Quantity), quantityNames()))}
			}
			if c.Sign < -1 || c.Sign > 1 {
				return &SettingsError{path, 0, fmt.Sprintf("file %q, column %q: sign = %d: write 1 or -1",
					f.Name, c.Name, c.Sign)}
			}
		}
	}
	for _, e := range s.Exclude {
		if !(e.ToS > e.FromS) {
			return &SettingsError{path, 0, fmt.Sprintf("exclude from_s = %g, to_s = %g: the end must come after the start",
				e.FromS, e.ToS)}
		}
	}
	return nil
}

func formatError(path string, got int) error {
	return &SettingsError{path, 0, fmt.Sprintf("format = %d: this version reads format = %d; add or correct that line",
		got, SettingsFormat)}
}

// decodeSettings decodes TOML strictly: a key that v does not have is an error that
// names the file, the line and the nearest key that there is.
func decodeSettings(path string, data []byte, v any) error {
	dec := toml.NewDecoder(bytes.NewReader(data))
	dec.DisallowUnknownFields()
	err := dec.Decode(v)
	var strict *toml.StrictMissingError
	var bad *toml.DecodeError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &strict) && len(strict.Errors) > 0:
		first := &strict.Errors[0]
		line, _ := first.Position()
		key := first.Key()
		name := key[len(key)-1]
		return &SettingsError{path, line, fmt.Sprintf("key %q is not known%s",
			strings.Join(key, "."), Nearest(name, keysBeside(reflect.TypeOf(v), key)))}
	case errors.As(err, &bad):
		line, _ := bad.Position()
		return &SettingsError{path, line, strings.TrimPrefix(bad.Error(), "toml: ")}
	}
	return &SettingsError{path, 0, strings.TrimPrefix(err.Error(), "toml: ")}
}

// keysBeside lists the keys allowed in the table that holds the last part of key.
func keysBeside(t reflect.Type, key []string) []string {
	for _, part := range key[:len(key)-1] {
		if next := fieldType(structOf(t), part); next != nil {
			t = next
		}
	}
	t = structOf(t)
	if t == nil {
		return nil
	}
	var names []string
	for i := range t.NumField() {
		if name := t.Field(i).Tag.Get("toml"); name != "-" {
			names = append(names, name)
		}
	}
	return names
}

func structOf(t reflect.Type) reflect.Type {
	for t != nil && (t.Kind() == reflect.Pointer || t.Kind() == reflect.Slice) {
		t = t.Elem()
	}
	if t == nil || t.Kind() != reflect.Struct {
		return nil
	}
	return t
}

func fieldType(t reflect.Type, key string) reflect.Type {
	if t == nil {
		return nil
	}
	for i := range t.NumField() {
		if t.Field(i).Tag.Get("toml") == key {
			return t.Field(i).Type
		}
	}
	return nil
}

func quantityNames() []string {
	var names []string
	for _, q := range Quantities() {
		names = append(names, string(q))
	}
	return names
}

// Nearest words the known name closest to name, whatever the case, as a hint to put behind
// an error, or all known names if none is close. It is empty if there are none.
func Nearest(name string, known []string) string {
	if hint := Closest(name, known); hint != "" || len(known) == 0 {
		return hint
	}
	return "; known here: " + strings.Join(known, ", ")
}

// Closest asks whether the known name that is spelt most like name was meant; empty if none
// is much like it.
func Closest(name string, known []string) string {
	best, bestD := "", len(name)/2+2
	for _, k := range known {
		if d := editDistance(strings.ToLower(name), strings.ToLower(k)); d < bestD {
			best, bestD = k, d
		}
	}
	if best == "" {
		return ""
	}
	return fmt.Sprintf("; did you mean %q?", best)
}

// editDistance is the least number of single-letter changes between a and b
// (Levenshtein 1966).
func editDistance(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diag := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diag
			if a[i] != b[j] {
				change++
			}
			diag = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
