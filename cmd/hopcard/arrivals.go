package main

import (
	"io/fs"
	"maps"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"hopcard/flight"
)

// fileState is what tells that a file has changed.
type fileState struct {
	size     int64
	modified time.Time
}

// arrivals finds out which logs of a folder are new and have stopped growing. It reads no
// clock and no file: it is told what is there at which time.
type arrivals struct {
	settle  time.Duration        // unchanged for this long, a file is complete
	known   map[string]fileState // logs that were there at the start, or were handed out
	growing map[string]fileState // new ones
	changed time.Time            // when anything about those last changed
}

// batch is the new logs of one folder: a hop.
type batch struct {
	dir string
	// logs are the base names of the new ones; others are logs in the same folder that
	// do not belong to them.
	logs, others []string
}

// look takes note of what is there now, and hands out the new logs once none of them has
// changed for a while: what is copied together belongs together.
func (a *arrivals) look(now time.Time, there map[string]fileState) []batch {
	fresh := map[string]fileState{}
	for path, state := range there {
		if state.size > 0 && a.known[path] != state {
			fresh[path] = state
		}
	}
	if !maps.Equal(fresh, a.growing) {
		a.growing, a.changed = fresh, now
	}
	if len(fresh) == 0 || now.Sub(a.changed) < a.settle {
		return nil
	}
	maps.Copy(a.known, fresh)
	a.growing = nil
	return batches(fresh, there)
}

// batches sorts new logs by their folders.
func batches(fresh, there map[string]fileState) []batch {
	byDir := map[string]*batch{}
	for _, path := range slices.Sorted(maps.Keys(there)) {
		dir, name := filepath.Dir(path), filepath.Base(path)
		b := byDir[dir]
		if b == nil {
			b = &batch{dir: dir}
			byDir[dir] = b
		}
		if _, isNew := fresh[path]; isNew {
			b.logs = append(b.logs, name)
		} else {
			b.others = append(b.others, name)
		}
	}
	var list []batch
	for _, dir := range slices.Sorted(maps.Keys(byDir)) {
		if len(byDir[dir].logs) > 0 {
			list = append(list, *byDir[dir])
		}
	}
	return list
}

// watchDepth is how many folders deep logs are looked for: cards keep them in a folder
// for each day, at most, within one for all.
const watchDepth = 4

// logsUnder lists the logs under dir and the folders they may come into. A part that
// cannot be read is left out: it may be gone the next moment, or come. The error is that
// of dir itself.
func logsUnder(dir string) (logs map[string]fileState, folders []string, err error) {
	logs = map[string]fileState{}
	err = filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		switch {
		case err != nil && path == dir:
			return err
		case err != nil:
			return nil
		case e.IsDir() && path != dir && (strings.HasPrefix(e.Name(), ".") || depth(dir, path) > watchDepth):
			return fs.SkipDir
		case e.IsDir():
			folders = append(folders, path)
		case e.Type().IsRegular() && flight.IsLog(e.Name()):
			if info, err := e.Info(); err == nil {
				logs[path] = fileState{info.Size(), info.ModTime()}
			}
		}
		return nil
	})
	return logs, folders, err
}

func depth(dir, path string) int {
	rel, err := filepath.Rel(dir, path)
	if err != nil {
		return 0
	}
	return strings.Count(rel, string(filepath.Separator)) + 1
}
