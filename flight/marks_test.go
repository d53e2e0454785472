package flight

import (
	"errors"
	"os"
	"path/filepath"
	"testing"
)

func TestMarksAreAddedAndRemoved(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, HopFile)
	before := "format = 1\n# bar weights changed at noon\nconfiguration = \"bar 400 g\" # by Sunday's card"
	if err := os.WriteFile(path, []byte(before), 0o600); err != nil {
		t.Fatal(err)
	}
	a := MarkSettings{TimeS: 75.25, Text: `a "wallow" \ left`}
	b := MarkSettings{TimeS: 80, Text: "ünruhig"}
	for _, m := range []MarkSettings{a, b} {
		if err := AddMark(dir, m); err != nil {
			t.Fatal(err)
		}
	}
	s, err := ReadHopSettings(dir)
	if err != nil {
		t.Fatal(err)
	}
	if len(s.Marks) != 2 || s.Marks[0] != a || s.Marks[1] != b || s.Configuration != "bar 400 g" {
		t.Errorf("read back %+v", s)
	}
	if err := RemoveMark(dir, b); err != nil {
		t.Fatal(err)
	}
	if err := RemoveMark(dir, a); err != nil {
		t.Fatal(err)
	}
	got, _ := os.ReadFile(path)
	if string(got) != before+"\n" {
		t.Errorf("after adding and removing:\n%s\nwant\n%s", got, before)
	}
	if err := RemoveMark(dir, a); !errors.Is(err, ErrNoMark) {
		t.Errorf("removing it again: %v, want ErrNoMark", err)
	}
}

func TestMarkMakesFile(t *testing.T) {
	dir := t.TempDir()
	if err := AddMark(dir, MarkSettings{TimeS: 1, Text: "x"}); err != nil {
		t.Fatal(err)
	}
	if s, err := ReadHopSettings(dir); err != nil || len(s.Marks) != 1 {
		t.Errorf("read back %+v, %v", s, err)
	}
	if left, _ := filepath.Glob(filepath.Join(dir, ".*")); len(left) > 0 {
		t.Errorf("left over: %v", left)
	}
}

// A file that is wrong already, or would be afterwards, is not touched.
func TestMarkLeavesBadFileAlone(t *testing.T) {
	for _, before := range []string{"format = 9\n", "format = 1\nwhat = 2\n", "format = 1\nmark = []\n", "not toml"} {
		dir := t.TempDir()
		path := filepath.Join(dir, HopFile)
		if err := os.WriteFile(path, []byte(before), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := AddMark(dir, MarkSettings{TimeS: 1, Text: "x"}); err == nil {
			t.Errorf("%q: a mark was added", before)
		}
		if got, _ := os.ReadFile(path); string(got) != before {
			t.Errorf("%q became %q", before, got)
		}
	}
	if err := AddMark(t.TempDir(), MarkSettings{TimeS: 1, Text: "two\nlines"}); err == nil {
		t.Error("a mark of two lines was added")
	}
}
