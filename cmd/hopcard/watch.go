package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/fsnotify/fsnotify"
	"github.com/spf13/cobra"

	"hopcard/flight"
	"hopcard/report"
)

// Logs are complete when nothing about them has changed for settleFor. The folder is
// looked at every lookEvery, and at once when the system says that something happens in
// it; card readers and network folders do not always say so.
const (
	settleFor = 3 * time.Second
	lookEvery = time.Second
)

func (a *app) watchCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "watch DIR",
		Short: "Wait for new logs in a folder and say what is in them",
		Long: `watch waits for logs that come into the folder DIR or the folders in it, such as those of a
card reader. When new ones have stopped growing it reads those of one folder as a hop and
prints what check prints. Logs that are there already are left alone until they change;
nothing is written. Ctrl-C ends it.`,
		Example: `  hopcard watch /media/card
  hopcard watch .`,
		Args: arguments(1, 1, "DIR"),
		RunE: func(cmd *cobra.Command, args []string) error {
			return a.watch(cmd.Context(), args[0], settleFor, lookEvery)
		},
	}
}

// watch goes on until ctx ends, which is how it is meant to end and no error.
func (a *app) watch(ctx context.Context, dir string, settle, every time.Duration) error {
	info, err := os.Stat(dir)
	if err != nil {
		return err
	}
	if !info.IsDir() {
		return fmt.Errorf("%s: is a file; name the folder that new logs come into", dir)
	}
	known, folders, err := logsUnder(dir)
	if err != nil {
		return err
	}
	news := newsOf(folders)
	defer news.close()
	fmt.Fprintf(a.stderr, "watching %s: %s there already; waiting for new ones, ctrl-c ends\n", report.Short(dir, 200), countOf(len(known), "log"))
	w := &arrivals{settle: settle, known: known}
	gone := false
	tick := time.NewTicker(every)
	defer tick.Stop()
	for {
		select {
		case <-ctx.Done():
			return nil
		case <-tick.C:
		case <-news.happened():
			// A log that is being copied makes news without end: one look a while will do.
			news.drain(ctx, every/10)
		}
		there, folders, err := logsUnder(dir)
		if err != nil {
			if !gone {
				fmt.Fprintf(a.stderr, "%s is gone; waiting for it to come back\n", report.Short(dir, 200))
			}
			gone = true
			continue
		}
		gone = false
		news.watch(folders)
		for _, b := range w.look(time.Now(), there) {
			if err := a.arrived(ctx, b); err != nil {
				return err
			}
		}
	}
}

// arrived reads new logs as a hop and prints the findings. Logs that cannot be read are
// complained about; only a standard output that cannot be written to is an error.
func (a *app) arrived(ctx context.Context, b batch) error {
	fmt.Fprintf(a.stderr, "new in %s: %s\n", report.Short(b.dir, 200), report.Short(strings.Join(b.logs, ", "), 200))
	settings, err := b.settings()
	if err != nil {
		a.complain(err)
		return nil
	}
	progress := a.newProgress()
	hop, err := checkedHop(ctx, b.path(), settings, progress.update)
	progress.clear()
	switch {
	case ctx.Err() != nil:
		return nil
	case err != nil:
		a.complain(err)
		return nil
	}
	return report.Check(a.stdout, hop)
}

// path is what is read: the one log, or the folder.
func (b batch) path() string {
	if len(b.logs) == 1 {
		return filepath.Join(b.dir, b.logs[0])
	}
	return b.dir
}

// settings are those of the folder, with the logs that are not new left out.
func (b batch) settings() (*flight.HopSettings, error) {
	s, err := flight.ReadHopSettings(b.dir)
	if err != nil || len(b.others) == 0 {
		return s, err
	}
	if s == nil {
		s = &flight.HopSettings{Format: flight.SettingsFormat}
	}
	s.Files = slices.Clone(s.Files)
	for _, name := range b.others {
		if f := s.File(name); f != nil {
			f.Skip = true
		} else {
			s.Files = append(s.Files, flight.FileSettings{Name: name, Skip: true})
		}
	}
	return s, nil
}

func countOf(n int, what string) string {
	switch n {
	case 0:
		return "no " + what + "s"
	case 1:
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// news tells when something happens in folders, as far as the system says so.
type news struct{ w *fsnotify.Watcher }

func newsOf(folders []string) news {
	w, err := fsnotify.NewWatcher()
	if err != nil {
		return news{} // looking at regular times has to do
	}
	go func() {
		for range w.Errors { // such as too much news at once: the regular look finds it
		}
	}()
	n := news{w}
	n.watch(folders)
	return n
}

// watch takes folders on; those taken on already are not taken twice.
func (n news) watch(folders []string) {
	if n.w == nil {
		return
	}
	for _, f := range folders {
		if err := n.w.Add(f); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return // too many folders: looking at regular times has to do
		}
	}
}

// happened has something to receive when there is news.
func (n news) happened() <-chan fsnotify.Event {
	if n.w == nil {
		return nil
	}
	return n.w.Events
}

// drain takes in and drops what comes within a time: one look at the folder sees it all.
func (n news) drain(ctx context.Context, while time.Duration) {
	over := time.After(while)
	for {
		select {
		case <-n.happened():
		case <-over:
			return
		case <-ctx.Done():
			return
		}
	}
}

func (n news) close() {
	if n.w != nil {
		n.w.Close()
	}
}
