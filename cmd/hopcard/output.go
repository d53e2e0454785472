package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"hopcard/flight"
)

// writeFile writes a file whole or not at all: into a new file beside it, which then
// takes its name. It refuses what refuseInput refuses. A target that is no regular file,
// such as a pipe, is written to as it is.
func writeFile(path, hop string, write func(io.Writer) error) error {
	if err := refuseInput(path, hop); err != nil {
		return err
	}
	info, err := os.Stat(path)
	switch {
	case err == nil && info.IsDir():
		return fmt.Errorf("%s: is a folder; name a file in it", path)
	case err == nil && !info.Mode().IsRegular():
		f, err := os.OpenFile(path, os.O_WRONLY, 0)
		if err != nil {
			return err
		}
		return errors.Join(write(f), f.Close())
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return err
	}
	return flight.ReplaceWith(path, write)
}

// refuseInput returns an error if writing to path could cost somebody a log: if it is
// one of the files that make up the hop, a settings file, or any existing file that
// looks like a log.
func refuseInput(path, hop string) error {
	target, err := os.Stat(path)
	if err != nil {
		return nil // nothing there to lose
	}
	inputs, dir, err := flight.HopLogs(hop)
	if err == nil {
		inputs = append(inputs, filepath.Join(dir, flight.HopFile), filepath.Join(dir, flight.PlanFile),
			filepath.Join(dir, flight.AircraftFile), filepath.Join(filepath.Dir(dir), flight.AircraftFile))
	}
	for _, in := range inputs {
		if info, err := os.Stat(in); err == nil && os.SameFile(info, target) {
			return fmt.Errorf("%s: would overwrite an input of the hop; name another file", path)
		}
	}
	if target.Mode().IsRegular() && flight.IsLog(path) {
		return fmt.Errorf("%s: exists and may be a log; name another file, or remove it first", path)
	}
	return nil
}
