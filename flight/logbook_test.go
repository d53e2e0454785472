package flight

import (
	"errors"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

func TestOpenLogbook(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, "aircraft.toml", "format = 1\nname = \"Whinchat\"\n")
	write(t, dir, "a/stick.csv", "t,x\n")
	write(t, dir, "a/imu.TXT", "t,x\n")
	write(t, dir, "a/README.txt", "notes")
	write(t, dir, "a/hop.toml", "format = 1\nconfiguration = \"bare head\"\n")
	write(t, dir, "b/imu.csv", "t,x\n")
	write(t, dir, "b/hop.toml", "fromat = 1\n")
	write(t, dir, "empty/readme.md", "")
	write(t, dir, ".hidden/imu.csv", "t,x\n")
	write(t, dir, "single.csv", "t,x\n")
	book, err := OpenLogbook(dir)
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, h := range book.Hops {
		names = append(names, h.Name)
	}
	if !slices.Equal(names, []string{"a", "b", "single"}) {
		t.Fatalf("hops %q", names)
	}
	if !slices.Equal(book.Hops[0].Files, []string{"imu.TXT", "stick.csv"}) || book.Hops[0].Configuration != "bare head" {
		t.Errorf("hop a: %+v", book.Hops[0])
	}
	if book.Hops[1].Problem == nil {
		t.Error("the wrong settings of hop b are not shown")
	}
	if !book.HasAircraft || book.Aircraft.Name != "Whinchat" {
		t.Errorf("aircraft %+v", book.Aircraft)
	}
}

func TestFolderOfLogsIsOneHop(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, "aircraft.toml", "format = 1\nname = \"Whinchat\"\n")
	write(t, dir, "hop1/a.csv", "x")
	write(t, dir, "hop1/b.csv", "x")
	book, err := OpenLogbook(filepath.Join(dir, "hop1"))
	if err != nil || len(book.Hops) != 1 || book.Hops[0].Name != "hop1" || len(book.Hops[0].Files) != 2 {
		t.Fatalf("%+v, %v", book, err)
	}
	if book.Aircraft.Name != "Whinchat" {
		t.Error("aircraft.toml one folder up was not used")
	}
}

func TestNothingToOpen(t *testing.T) {
	dir := t.TempDir()
	if _, err := OpenLogbook(dir); !errors.Is(err, ErrNoLogs) {
		t.Errorf("empty folder: %v", err)
	}
	if _, err := OpenLogbook(filepath.Join(dir, "no")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("no folder: %v", err)
	}
	write(t, dir, "a.csv", "x")
	if _, err := OpenLogbook(filepath.Join(dir, "a.csv")); err == nil {
		t.Error("a file was opened as a logbook")
	}
}

func TestHopLogs(t *testing.T) {
	dir := t.TempDir()
	write(t, dir, "h/b.csv", "x")
	write(t, dir, "h/a.nmea", "x")
	write(t, dir, "h/photo.jpg", "x")
	files, from, err := HopLogs(filepath.Join(dir, "h"))
	want := []string{filepath.Join(dir, "h", "a.nmea"), filepath.Join(dir, "h", "b.csv")}
	if err != nil || !slices.Equal(files, want) || from != filepath.Join(dir, "h") {
		t.Errorf("%q, %q, %v", files, from, err)
	}
	files, from, err = HopLogs(want[1])
	if err != nil || !slices.Equal(files, want[1:]) || from != filepath.Join(dir, "h") {
		t.Errorf("single file: %q, %q, %v", files, from, err)
	}
	if _, _, err := HopLogs(dir); !errors.Is(err, ErrNoLogs) {
		t.Errorf("folder of folders: %v", err)
	}
}
