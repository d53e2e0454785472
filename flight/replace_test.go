package flight

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestReplaceFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.toml")
	for _, text := range []string{"one", "", strings.Repeat("two", 100_000)} {
		if err := ReplaceFile(path, []byte(text)); err != nil {
			t.Fatal(err)
		}
		if got, _ := os.ReadFile(path); string(got) != text {
			t.Errorf("%d bytes written, %d found", len(text), len(got))
		}
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 1 {
		t.Errorf("the folder holds %v, %v; want the file alone", left, err)
	}
}

// What fails leaves the old file alone and names the file that was asked for.
func TestReplaceFileFails(t *testing.T) {
	dir := t.TempDir()
	taken := filepath.Join(dir, "folder")
	if err := os.MkdirAll(filepath.Join(taken, "full"), 0o755); err != nil {
		t.Fatal(err)
	}
	err := ReplaceFile(taken, []byte("x")) // a folder cannot be replaced by a file
	if err == nil || !strings.Contains(err.Error(), taken+": ") || strings.Contains(err.Error(), ".folder-") {
		t.Errorf("replacing a folder: %v", err)
	}
	if left, _ := os.ReadDir(dir); len(left) != 1 {
		t.Errorf("left behind: %v", left)
	}
	gone := filepath.Join(dir, "gone", "a")
	if err := ReplaceFile(gone, nil); !errors.Is(err, fs.ErrNotExist) || !strings.Contains(err.Error(), gone) {
		t.Errorf("no such folder: %v", err)
	}
}
