package flight

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// A Change turns the text of a hop.toml into another. What it does not speak of stays as
// it is, to the byte, comments included.
type Change func(text string) (string, error)

// Edit is a change that has been worked out: the text of hop.toml before and after, empty
// for no file.
type Edit struct {
	Before, After string
}

// Decision is one decision of the crew about a hop, to be written into its hop.toml.
type Decision struct {
	File   string // base name of the log it is about, empty for the hop itself
	Column string // of that log, empty for the log itself
	Key    string // as hop.toml names it: configuration, clock_offset_s, sign ...
	// Value is a string, bool, int or float64; nil takes the decision back, so that
	// hopcard decides by itself again.
	Value any
}

// Deciding writes decisions: where the key is there already its value is replaced, else it
// is put with its file and column.
func Deciding(ds ...Decision) Change {
	return func(text string) (string, error) {
		var err error
		for _, d := range ds {
			if text, err = d.write(withFormat(text)); err != nil {
				return "", err
			}
		}
		return text, nil
	}
}

// Excluding takes an interval of hop time out of the analysis.
func Excluding(e ExcludeSpan) Change {
	return func(text string) (string, error) {
		text = withFormat(text)
		ts, err := scanTables(text)
		if err != nil {
			return "", err
		}
		if k := ts[0].key("exclude"); k != nil {
			return "", inPlace(text, k, "exclude")
		}
		text = withNewline(text) + fmt.Sprintf("\n[[exclude]]\nfrom_s = %s\nto_s = %s\n", tomlFloat(e.FromS), tomlFloat(e.ToS))
		if e.Why != "" {
			text += "why = " + TOMLString(e.Why) + "\n"
		}
		return text, nil
	}
}

// Including brings an excluded interval back. It must be there with the same ends.
func Including(s Span) Change {
	return func(text string) (string, error) {
		set := &HopSettings{}
		if err := decodeSettings(HopFile, []byte(text), set); err != nil {
			return "", err
		}
		n := slices.IndexFunc(set.Exclude, func(e ExcludeSpan) bool { return e.FromS == s.FromS && e.ToS == s.ToS })
		if n < 0 {
			return "", fmt.Errorf("%s: no exclude from %g to %g s is there", HopFile, s.FromS, s.ToS)
		}
		ts, err := scanTables(text)
		if err != nil {
			return "", err
		}
		if k := ts[0].key("exclude"); k != nil {
			return "", inPlace(text, k, "exclude")
		}
		for _, t := range ts {
			if t.path != "exclude" {
				continue
			}
			if n--; n < 0 {
				return cutLines(text, t.from, t.lastKeyEnd()), nil
			}
		}
		return "", fmt.Errorf("%s: the exclude of %g to %g s is not written as [[exclude]]; change it there", HopFile, s.FromS, s.ToS)
	}
}

// Try works the change out on hop.toml in dir, and what the settings would then be.
// Nothing is written. The error says in one line what is wrong with the change or with
// what the file says already.
func (c Change) Try(dir string) (Edit, *HopSettings, error) {
	old, err := readText(dir)
	if err != nil {
		return Edit{}, nil, err
	}
	text, err := c(old)
	if err != nil {
		return Edit{}, nil, err
	}
	e := Edit{old, text}
	if text == "" {
		return e, nil, nil
	}
	path := filepath.Join(dir, HopFile)
	s := &HopSettings{}
	if err := decodeSettings(path, []byte(text), s); err != nil {
		return Edit{}, nil, err
	}
	if err := s.check(path); err != nil {
		return Edit{}, nil, err
	}
	s.takeOffsetSteps(text)
	return e, s, s.checkUnits(path)
}

// Back is the edit that undoes e.
func (e Edit) Back() Edit { return Edit{e.After, e.Before} }

// Change repeats the edit where the text is as it was before it, and refuses where it is
// not: whatever was written there since stays.
func (e Edit) Change() Change {
	return func(text string) (string, error) {
		if text != e.Before {
			return "", fmt.Errorf("%s: was changed elsewhere since; change it there", HopFile)
		}
		return e.After, nil
	}
}

// Write puts the edited text in the place of hop.toml in dir, in one step. It refuses if
// the file is not as it was when the edit was worked out.
func (e Edit) Write(dir string) error {
	now, err := readText(dir)
	if err != nil {
		return err
	}
	if now != e.Before {
		return fmt.Errorf("%s: was changed elsewhere meanwhile; nothing was written", HopFile)
	}
	path := filepath.Join(dir, HopFile)
	if e.After == "" {
		if err := os.Remove(path); !errors.Is(err, os.ErrNotExist) {
			return err
		}
		return nil
	}
	return ReplaceFile(path, []byte(e.After))
}

// readText is the text of hop.toml in dir, empty if there is none.
func readText(dir string) (string, error) {
	data, err := os.ReadFile(filepath.Join(dir, HopFile))
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return "", err
	}
	return string(data), nil
}

// checkUnits makes sure that units are known and fit the quantity beside them.
func (s *HopSettings) checkUnits(path string) error {
	var known []string
	for _, u := range Units() {
		known = append(known, string(u))
	}
	for _, f := range s.Files {
		for _, c := range f.Columns {
			if c.Unit != NoUnit && !slices.Contains(Units(), c.Unit) {
				return &SettingsError{path, 0, fmt.Sprintf("file %q, column %q: unit %q is not known%s",
					f.Name, c.Name, c.Unit, Nearest(string(c.Unit), known))}
			}
			if c.Unit != NoUnit && c.Quantity != "" && !slices.Contains(c.Quantity.Units(), c.Unit) {
				return &SettingsError{path, 0, fmt.Sprintf("file %q, column %q: %s", f.Name, c.Name, c.Quantity.unfit(c.Unit))}
			}
			if c.FullThrow != nil && *c.FullThrow == 0 {
				return &SettingsError{path, 0, fmt.Sprintf(
					"file %q, column %q: full_throw = 0: give the change from neutral to the stop", f.Name, c.Name)}
			}
		}
	}
	return nil
}

// Units lists every unit that a log's column may be written in.
func Units() []Unit {
	return []Unit{Deg, Rad, DegPerS, RadPerS, MPerS, Knot, KmPerH, MilePerH, MPerS2, G, Percent, UnitTravel,
		PulseUs, Counts, RPM, Metre, Foot, Second, MilliS, MicroS, NanoS, ISO8601, ClockTime}
}

// Units lists the units that q can be written in.
func (q Quantity) Units() []Unit {
	var us []Unit
	for _, u := range Units() {
		_, dim, ok := u.Scale()
		fits := ok && dim == q.Dimension()
		switch u {
		case PulseUs, Counts:
			fits = q.Dimension() == StickTravel
		case ISO8601, ClockTime:
			fits = q == Time
		case RadPerS:
			fits = fits || q.Dimension() == RotationSpeed
		case UnitTravel:
			fits = fits || q.Dimension() == Pure
		}
		if fits {
			us = append(us, u)
		}
	}
	return us
}

// unfit says that u is no unit of q, and which are.
func (q Quantity) unfit(u Unit) string {
	var fit []string
	for _, u := range q.Units() {
		fit = append(fit, string(u))
	}
	return fmt.Sprintf("%s is no unit of %s; it may be %s", u, q, strings.Join(fit, ", "))
}

// CheckUnit returns an error, for one line, if a column of q cannot be written in u.
func (q Quantity) CheckUnit(u Unit) error {
	if u == NoUnit || slices.Contains(q.Units(), u) {
		return nil
	}
	return errors.New(q.unfit(u))
}

func tomlValue(v any) (string, error) {
	switch v := v.(type) {
	case string:
		return TOMLString(v), nil
	case bool:
		return strconv.FormatBool(v), nil
	case int:
		return strconv.Itoa(v), nil
	case float64:
		if v-v != 0 { // not a number, or infinite
			return "", fmt.Errorf("%g is no number to decide on", v)
		}
		return tomlFloat(v), nil
	}
	panic(fmt.Sprintf("flight: a decision of type %T", v))
}
