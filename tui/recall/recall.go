// Package recall keeps what the logbook list says about each hop, so that a logbook of
// hundreds of hops shows its list before any of them has been read again.
//
// What is kept belongs to the bytes of the hop's logs and settings files and to the
// version of the program: a change of any of them and the summary is not found any
// more. A store that is missing, damaged or full costs the summaries and nothing else.
package recall

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"hopcard/flight"
)

// Summary is a row of the logbook list in words.
type Summary struct {
	Date          string   `json:"date"`
	Configuration string   `json:"configuration"`
	Air           string   `json:"air"`
	Lag           string   `json:"lag"`
	Damping       string   `json:"damping"`
	Flags         string   `json:"flags"`
	Proceed       string   `json:"proceed"`
	Reasons       []Reason `json:"reasons"`
}

// Reason is one reason of the verdict and what it alone would make of it.
type Reason struct {
	Text   string `json:"text"`
	Weight string `json:"weight"`
}

// Store keeps summaries as files in a folder of its own.
type Store struct {
	Dir     string // made when first needed
	Version string // of the program
}

// Recall returns the summary kept under a key.
func (s Store) Recall(key string) (Summary, bool) {
	var sum Summary
	data, err := os.ReadFile(s.file(key))
	if err != nil || json.Unmarshal(data, &sum) != nil || sum.Proceed == "" {
		return Summary{}, false
	}
	return sum, true
}

// Keep keeps a summary of the hop under a key, and notes that the hop's files, as they are
// by size and time, have that key. Take the key before the hop is read and again
// afterwards, and keep nothing if they differ: what was read may then be either.
func (s Store) Keep(e flight.HopEntry, key string, sum Summary) error {
	if err := os.MkdirAll(s.Dir, 0o755); err != nil {
		return err
	}
	if err := writeJSON(s.file(key), sum); err != nil {
		return err
	}
	files, err := stampsOf(e)
	if err != nil {
		return err
	}
	return writeJSON(s.noteOf(e), note{key, files})
}

// writeJSON replaces a file in one step. It does not wait for the disk, as one does for what
// cannot be found again: a file that a loss of power left damaged is forgotten.
func writeJSON(path string, v any) error {
	data, err := json.Marshal(v)
	if err != nil {
		return err
	}
	if old, err := os.ReadFile(path); err == nil && bytes.Equal(old, data) {
		return nil
	}
	f, err := os.CreateTemp(filepath.Dir(path), ".new-*")
	if err != nil {
		return err
	}
	_, err = f.Write(data)
	if err = errors.Join(err, f.Close()); err == nil {
		err = os.Rename(f.Name(), path)
	}
	if err != nil {
		return errors.Join(err, os.Remove(f.Name()))
	}
	return nil
}

// file is where a summary is; a key is made of hex digits.
func (s Store) file(key string) string { return filepath.Join(s.Dir, key+".json") }

// Key hashes the version, and name and bytes of every file the summary depends on.
func (s Store) Key(e flight.HopEntry) (string, error) { return s.key(e, nil) }

// KeyWith is the key that the hop would have if its settings file held that text, or were
// not there if the text is empty.
func (s Store) KeyWith(e flight.HopEntry, settings []byte) (string, error) {
	var sum []byte
	if len(settings) > 0 {
		h := sha256.Sum256(settings)
		sum = h[:]
	}
	return s.key(e, &sum)
}

// key uses the hash of the settings file that it is given, unless that is nil.
func (s Store) key(e flight.HopEntry, settingsSum *[]byte) (string, error) {
	files, hopFile, err := dependsOn(e)
	if err != nil {
		return "", err
	}
	h := sha256.New()
	fmt.Fprintf(h, "%q\n", s.Version)
	for _, path := range files {
		sum, err := hashFile(path)
		if path == hopFile && settingsSum != nil {
			sum, err = *settingsSum, nil
		}
		if err != nil {
			return "", err
		}
		fmt.Fprintf(h, "%q %x\n", filepath.Base(path), sum)
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// dependsOn lists every file that the summary of a hop depends on, whether it is there or
// not, and which of them is the hop's own settings file.
func dependsOn(e flight.HopEntry) (files []string, hopFile string, err error) {
	files, dir, err := flight.HopLogs(e.Path)
	if err != nil {
		return nil, "", err
	}
	hopFile = filepath.Join(dir, flight.HopFile)
	return append(files, hopFile, filepath.Join(dir, flight.PlanFile), filepath.Join(dir, flight.AircraftFile),
		filepath.Join(filepath.Dir(filepath.Clean(dir)), flight.AircraftFile)), hopFile, nil
}

// hashFile returns the hash of a file's bytes, nil if there is no such file.
func hashFile(path string) ([]byte, error) {
	f, err := os.Open(path)
	if errors.Is(err, os.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return nil, err
	}
	return h.Sum(nil), nil
}
