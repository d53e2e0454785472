package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"hopcard/analysis/debrief"
	"hopcard/flight"
	"hopcard/importers"
)

// readShare is the part of a hop's work that reading the logs is taken for in progress.
const readShare = 0.5

// readHop reads the logs at path with the settings of their folder.
func readHop(ctx context.Context, path string, progress func(float64, string)) (*flight.Hop, error) {
	return readHopWith(ctx, path, nil, progress)
}

// readHopWith reads the logs at path with other settings than those of their folder,
// unless they are nil.
func readHopWith(ctx context.Context, path string, s *flight.HopSettings, progress func(float64, string)) (hop *flight.Hop, err error) {
	defer caught(path, &err)
	if _, err := there(path); err != nil {
		return nil, err
	}
	return importers.ReadHop(ctx, path, importers.Options{Settings: s, Progress: progress})
}

// caught turns a panic into an error of the hop at path: a mistake of the program in one hop
// must not take the others away. Analysis does the same for its parts.
func caught(path string, err *error) {
	if r := recover(); r != nil {
		*err = fmt.Errorf("%s: %w", path, debrief.Failure(r))
	}
}

// there says what is at path; if nothing is, the error names the hop that may have been
// meant, where the folder around it is a logbook.
func there(path string) (os.FileInfo, error) {
	info, err := os.Stat(path)
	if errors.Is(err, os.ErrNotExist) {
		if hint := hopHint(bookAround(path), filepath.Base(path)); hint != "" {
			err = fmt.Errorf("%s: there is no such file or folder%s", path, hint)
		}
	}
	return info, err
}

// debriefHop reads and analyses the hop at path.
func debriefHop(ctx context.Context, path string, progress func(float64, string)) (*debrief.Debrief, error) {
	hop, err := readHop(ctx, path, readProgress(progress))
	if err != nil {
		return nil, err
	}
	return debriefRead(ctx, hop, path, progress)
}

// readProgress is the progress of reading as part of the whole.
func readProgress(progress func(float64, string)) func(float64, string) {
	return func(done float64, what string) { progress(readShare*done, what) }
}

// debriefRead analyses a hop that was read from path.
func debriefRead(ctx context.Context, hop *flight.Hop, path string, progress func(float64, string)) (*debrief.Debrief, error) {
	aircraft, _, err := flight.AircraftFor(path)
	if err != nil {
		return nil, err
	}
	return debrief.Run(ctx, hop, aircraft, func(done float64, what string) {
		progress(readShare+(1-readShare)*done, what)
	})
}

// openLogbook opens a folder of hops, or makes a logbook of a single log file.
func openLogbook(path string) (*flight.Logbook, error) {
	info, err := there(path)
	if err != nil {
		return nil, err
	}
	if info.IsDir() {
		book, err := flight.OpenLogbook(path)
		if errors.Is(err, flight.ErrNoLogs) {
			return nil, withHint(err, "to see what hopcard does: hopcard demo")
		}
		return book, err
	}
	base := filepath.Base(path)
	book := &flight.Logbook{Dir: filepath.Dir(path), Hops: []flight.HopEntry{{
		Name: strings.TrimSuffix(base, filepath.Ext(base)), Path: path, Files: []string{base},
	}}}
	book.Aircraft, book.HasAircraft, err = flight.AircraftFor(path)
	return book, err
}

// hintError is an error with a way out of it.
type hintError struct {
	error
	hint string
}

func withHint(err error, hint string) error { return hintError{err, hint} }

func (e hintError) Error() string { return e.error.Error() + "; " + e.hint }

func (e hintError) Unwrap() error { return e.error }
