package simulate

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"sync"
	"sync/atomic"
	"time"

	"hopcard/flight"
)

// ErrForeign is wrapped by errors of WriteDemo about a folder that holds something else.
var ErrForeign = errors.New("the folder holds something else")

// WriteDemo writes the demo logbook into dir: the aircraft Whinchat at Marsh End, three bar
// configurations, calm, steady and gusty days. The same bytes every time.
//
// A new folder is written beside its place and then renamed, so that it is whole or not
// there. In a folder that is there already nothing is changed: what the demo lacks is
// added, and the error wraps ErrForeign if a file is not the demo's. progress may be nil.
func WriteDemo(ctx context.Context, dir string, progress func(done float64, what string)) error {
	if progress == nil {
		progress = func(float64, string) {}
	}
	dir = filepath.Clean(dir)
	parent := filepath.Dir(dir)
	if err := os.MkdirAll(parent, 0o755); err != nil {
		return err
	}
	tmp, err := os.MkdirTemp(parent, ".demo-*")
	if err != nil {
		return err
	}
	defer os.RemoveAll(tmp) // gone already when all went well
	if err := demoInto(ctx, tmp, progress); err != nil {
		return err
	}
	if err := os.Chmod(tmp, 0o755); err != nil {
		return err
	}
	switch entries, err := os.ReadDir(dir); {
	case errors.Is(err, fs.ErrNotExist):
		return os.Rename(tmp, dir)
	case err != nil:
		return err
	case len(entries) == 0:
		if err := os.Remove(dir); err != nil {
			return err
		}
		return os.Rename(tmp, dir)
	}
	return complete(tmp, dir)
}

// demoInto writes the logbook into an empty folder.
func demoInto(ctx context.Context, dir string, progress func(float64, string)) error {
	if err := create(filepath.Join(dir, flight.AircraftFile), []byte(aircraftText())); err != nil {
		return err
	}
	hops := demoHops()
	var next, done atomic.Int64
	var told sync.Mutex
	errs := make([]error, len(hops))
	var workers sync.WaitGroup
	for range min(runtime.GOMAXPROCS(0), len(hops)) {
		workers.Go(func() {
			for ctx.Err() == nil {
				k := int(next.Add(1)) - 1
				if k >= len(hops) {
					return
				}
				errs[k] = hops[k].write(dir)
				told.Lock()
				progress(float64(done.Add(1))/float64(len(hops)), "flown "+hops[k].scenario.Name)
				told.Unlock()
			}
		})
	}
	workers.Wait()
	return errors.Join(ctx.Err(), errors.Join(errs...))
}

// write flies the hop and writes its folder.
func (h demoHop) write(dir string) error {
	f := Fly(h.scenario)
	if len(f.Truth.Growing) > 0 {
		h.dress.MarksFile, h.dress.Marks = "marks.csv", crewMarks(f)
	}
	folder := filepath.Join(dir, h.scenario.Name)
	if err := f.Write(folder, h.dress); err != nil {
		return err
	}
	if h.plan != nil {
		if err := flight.WritePlan(folder, h.plan, false); err != nil {
			return err
		}
	}
	return create(filepath.Join(folder, flight.HopFile), []byte(h.settings()))
}

// complete moves into dir what it lacks of fresh, once nothing in dir speaks against it.
func complete(fresh, dir string) error {
	if err := onlyOurs(fresh, dir); err != nil {
		return err
	}
	return filepath.WalkDir(fresh, func(path string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(fresh, path)
		if err != nil {
			return err
		}
		target := filepath.Join(dir, rel)
		if e.IsDir() {
			return os.MkdirAll(target, 0o755)
		}
		if _, err := os.Lstat(target); err == nil {
			return nil
		}
		return os.Rename(path, target)
	})
}

// onlyOurs returns an error if dir holds a file that fresh does not, or with other bytes.
func onlyOurs(fresh, dir string) error {
	return filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		rel, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		want, err := os.ReadFile(filepath.Join(fresh, rel))
		if errors.Is(err, fs.ErrNotExist) {
			return foreign(dir, rel, "is not part of the demo")
		}
		if err != nil {
			return err
		}
		got, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if string(got) != string(want) {
			return foreign(dir, rel, "was changed")
		}
		return nil
	})
}

func foreign(dir, file, why string) error {
	return fmt.Errorf("%s: %w: %s %s; name a new folder for the demo, or open this one as a logbook",
		dir, ErrForeign, file, why)
}

// demoHop is one hop of the demo logbook.
type demoHop struct {
	scenario Scenario
	dress    Dress
	notes    string
	plan     *flight.Plan // the card before the hop, nil for none
}

func (h demoHop) settings() string {
	return fmt.Sprintf("format = %d\nconfiguration = %q\nstarted_at = %s\nnotes = %q\n",
		flight.SettingsFormat, h.scenario.Head.Name, h.scenario.StartedAt.Format(time.RFC3339), h.notes)
}
