package flight

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"unicode"
)

// ErrNoMark is returned when a mark to be removed is not in the file as AddMark wrote it.
var ErrNoMark = errors.New("no such mark")

// AddMark appends an event mark to hop.toml in dir, and makes the file if there is none.
// What the file says already stays as it is, comments included. The text must be one
// line without control characters.
func AddMark(dir string, m MarkSettings) error {
	if strings.ContainsFunc(m.Text, unicode.IsControl) {
		return fmt.Errorf("%q: a mark is one line of text without control characters", m.Text)
	}
	return editHopSettings(dir, func(text string) (string, error) {
		switch {
		case text == "":
			text = fmt.Sprintf("format = %d\n", SettingsFormat)
		case !strings.HasSuffix(text, "\n"):
			text += "\n"
		}
		return text + markText(m), nil
	})
}

// RemoveMark takes the last mark of that time and text, written by AddMark, out of
// hop.toml in dir. The error is ErrNoMark, wrapped, if it is not there.
func RemoveMark(dir string, m MarkSettings) error {
	return editHopSettings(dir, func(text string) (string, error) {
		block := markText(m)
		i := strings.LastIndex(text, block)
		if i < 0 {
			return "", fmt.Errorf("%s: %w at %g s: it was changed by hand; remove it there", HopFile, ErrNoMark, m.TimeS)
		}
		return text[:i] + text[i+len(block):], nil
	})
}

func markText(m MarkSettings) string {
	time := strconv.FormatFloat(m.TimeS, 'f', 3, 64)
	return fmt.Sprintf("\n[[mark]]\ntime_s = %s\ntext = %s\n", time, TOMLString(m.Text))
}

// editHopSettings changes the text of hop.toml in dir. The new text must be good
// settings, and takes the place of the old in one step.
func editHopSettings(dir string, edit func(text string) (string, error)) error {
	path := filepath.Join(dir, HopFile)
	old, err := os.ReadFile(path)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	text, err := edit(string(old))
	if err != nil {
		return err
	}
	s := &HopSettings{}
	if err := decodeSettings(path, []byte(text), s); err != nil {
		return err
	}
	if err := s.check(path); err != nil {
		return err
	}
	return ReplaceFile(path, []byte(text))
}
