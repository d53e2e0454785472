package recall

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"hopcard/flight"
)

// To hash the logs of hundreds of hops takes seconds. So that a list can be shown at once,
// the store also notes by size and time which files had which key, and Glance looks them
// up by that. It may be wrong about a file that was changed without either showing it:
// whoever glances reads the hop all the same, and shows what comes of it.

// note says which key the files of a hop had.
type note struct {
	Key   string  `json:"key"`
	Files []stamp `json:"files"`
}

// stamp is what a folder says about a file; of one that is not there, its name.
type stamp struct {
	Name   string `json:"name"`
	Size   int64  `json:"size"`
	TimeNS int64  `json:"time_ns"`
}

// Glance returns what was kept about a hop whose files look as they did then.
func (s Store) Glance(e flight.HopEntry) (Summary, bool) {
	var n note
	data, err := os.ReadFile(s.noteOf(e))
	if err != nil || json.Unmarshal(data, &n) != nil || len(n.Key) != hex.EncodedLen(sha256.Size) {
		return Summary{}, false
	}
	if _, err := hex.DecodeString(n.Key); err != nil { // it becomes part of a path
		return Summary{}, false
	}
	files, err := stampsOf(e)
	if err != nil || !slices.Equal(files, n.Files) {
		return Summary{}, false
	}
	return s.Recall(n.Key)
}

// noteOf is where the note about a hop is: one for each place and version.
func (s Store) noteOf(e flight.HopEntry) string {
	path, err := filepath.Abs(e.Path)
	if err != nil {
		path = e.Path
	}
	sum := sha256.Sum256(fmt.Appendf(nil, "%q %q", s.Version, path))
	return filepath.Join(s.Dir, hex.EncodeToString(sum[:])+".note.json")
}

func stampsOf(e flight.HopEntry) ([]stamp, error) {
	files, _, err := dependsOn(e)
	if err != nil {
		return nil, err
	}
	var stamps []stamp
	for _, path := range files {
		at := stamp{Name: filepath.Base(path)}
		info, err := os.Stat(path)
		switch {
		case err == nil:
			at.Size, at.TimeNS = info.Size(), info.ModTime().UnixNano()
		case !errors.Is(err, os.ErrNotExist):
			return nil, err
		}
		stamps = append(stamps, at)
	}
	return stamps, nil
}
