package flight

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sort"
	"strings"
)

// ErrNoLogs is returned where a folder or file holds nothing that could be a log.
var ErrNoLogs = errors.New("no log files found")

// LogExtensions lists the endings of files that are taken for logs.
func LogExtensions() []string {
	return []string{".csv", ".tsv", ".tab", ".txt", ".log", ".dat", ".asc", ".nmea"}
}

// IsLog reports whether a file of that name is taken for a log. Notes such as
// README.txt are not.
func IsLog(name string) bool {
	base := strings.ToLower(filepath.Base(name))
	if strings.HasPrefix(base, ".") || strings.HasPrefix(base, "readme") || strings.HasPrefix(base, "license") {
		return false
	}
	return slices.Contains(LogExtensions(), filepath.Ext(base))
}

// Logbook is a folder of hops of one aircraft.
type Logbook struct {
	Dir string
	// Aircraft is never nil; HasAircraft tells whether it was read from a file.
	Aircraft    *Aircraft
	HasAircraft bool
	Hops        []HopEntry
}

// HopEntry is one hop as the folder shows it, before any log is read.
type HopEntry struct {
	Name          string
	Path          string   // folder of logs, or one log file
	Files         []string // base names, sorted
	Configuration string   // from hop.toml, if it says
	// Problem is what is wrong with the hop's settings file, nil if nothing is.
	Problem error
}

// OpenLogbook lists the hops in dir: every subfolder that holds a log, and every log
// file beside them. A folder that holds logs itself, no hop folders and no
// aircraft.toml is taken for a single hop. The error is ErrNoLogs, wrapped, if there is
// nothing to list, or a *SettingsError.
func OpenLogbook(dir string) (*Logbook, error) {
	info, err := os.Stat(dir)
	if err != nil {
		return nil, err
	}
	if !info.IsDir() {
		return nil, fmt.Errorf("%s: not a folder", dir)
	}
	book := &Logbook{Dir: dir}
	if book.Aircraft, book.HasAircraft, err = ReadAircraft(dir); err != nil {
		return nil, err
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, err
	}
	var own []string
	for _, e := range entries {
		path := filepath.Join(dir, e.Name())
		switch {
		case e.IsDir() && !strings.HasPrefix(e.Name(), "."):
			if hop, ok := hopFolder(path); ok {
				book.Hops = append(book.Hops, hop)
			}
		case isRegular(e, path) && IsLog(e.Name()):
			own = append(own, e.Name())
		}
	}
	if len(book.Hops) == 0 && len(own) > 0 && !book.HasAircraft {
		hop, _ := hopFolder(dir)
		if book.Aircraft, book.HasAircraft, err = AircraftFor(dir); err != nil {
			return nil, err
		}
		book.Hops = []HopEntry{hop}
		return book, nil
	}
	for _, name := range own {
		book.Hops = append(book.Hops, HopEntry{
			Name: strings.TrimSuffix(name, filepath.Ext(name)), Path: filepath.Join(dir, name), Files: []string{name},
		})
	}
	if len(book.Hops) == 0 {
		return nil, fmt.Errorf("%s: %w; put the logs of each hop into a folder of its own in here (endings: %s)",
			dir, ErrNoLogs, strings.Join(LogExtensions(), " "))
	}
	sort.Slice(book.Hops, func(i, j int) bool { return book.Hops[i].Name < book.Hops[j].Name })
	return book, nil
}

// HopLogs returns the log files that make up the hop at path, a folder or one file, in
// order of name, and the folder whose hop.toml applies to them.
func HopLogs(path string) (files []string, dir string, err error) {
	info, err := os.Stat(path)
	if err != nil {
		return nil, "", err
	}
	if !info.IsDir() {
		return []string{path}, filepath.Dir(path), nil
	}
	hop, ok := hopFolder(path)
	if !ok {
		return nil, "", fmt.Errorf("%s: %w (endings: %s)", path, ErrNoLogs, strings.Join(LogExtensions(), " "))
	}
	if len(hop.Files) == 0 {
		return nil, "", hop.Problem
	}
	for _, name := range hop.Files {
		files = append(files, filepath.Join(path, name))
	}
	return files, path, nil
}

// AircraftFor returns the aircraft of the hop at path: aircraft.toml beside its logs or
// one folder up. ok is false, and the aircraft all defaults, if there is neither.
func AircraftFor(path string) (a *Aircraft, ok bool, err error) {
	path, err = filepath.Abs(path)
	if err != nil {
		return nil, false, err
	}
	if info, err := os.Stat(path); err == nil && !info.IsDir() {
		path = filepath.Dir(path)
	}
	for _, dir := range []string{path, filepath.Dir(path)} {
		if a, ok, err = ReadAircraft(dir); err != nil || ok {
			return a, ok, err
		}
	}
	return a, false, nil
}

// hopFolder describes the folder at path as a hop; ok is false if it holds no log.
func hopFolder(path string) (hop HopEntry, ok bool) {
	hop = HopEntry{Name: filepath.Base(path), Path: path}
	if abs, err := filepath.Abs(path); err == nil {
		hop.Name = filepath.Base(abs)
	}
	entries, err := os.ReadDir(path)
	if err != nil {
		// Listed with its problem: a folder that cannot be read must not just vanish.
		hop.Problem = err
		return hop, true
	}
	for _, e := range entries {
		if IsLog(e.Name()) && isRegular(e, filepath.Join(path, e.Name())) {
			hop.Files = append(hop.Files, e.Name())
		}
	}
	if len(hop.Files) == 0 {
		return hop, false
	}
	settings, err := ReadHopSettings(path)
	hop.Problem = err
	if err == nil && settings != nil {
		hop.Configuration = settings.Configuration
	}
	return hop, true
}

// isRegular follows links, so that a link to a log counts and a pipe does not.
func isRegular(e fs.DirEntry, path string) bool {
	if e.Type().IsRegular() {
		return true
	}
	info, err := os.Stat(path)
	return err == nil && info.Mode().IsRegular()
}
