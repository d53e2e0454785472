package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"hopcard/flight"
)

// mostNamed is how many hops an error lists.
const mostNamed = 8

// hopHint says, to be put behind an error, which hop of a logbook may have been meant by a
// name that none has: the one it is a part of, else one spelt much like it, else what there
// is. It is empty where no logbook is. A name that is a part only is not taken for the hop:
// a card of the wrong one is worse than a name to be typed in full.
func hopHint(logbook, name string) string {
	book, err := flight.OpenLogbook(logbook)
	if err != nil || name == "" || len(book.Hops) == 1 && book.Hops[0].Path == logbook {
		return ""
	}
	var names, with []string
	for _, e := range book.Hops {
		names = append(names, e.Name)
		if strings.Contains(strings.ToLower(e.Name), strings.ToLower(strings.TrimLeft(name, ":"))) {
			with = append(with, e.Name)
		}
	}
	switch {
	case len(with) == 1:
		return fmt.Sprintf("; did you mean %q?", with[0])
	case len(with) > 1:
		return "; it is a part of " + listed(with)
	}
	if hint := flight.Closest(name, names); hint != "" {
		return hint
	}
	if !book.HasAircraft {
		return "" // any folder with logs somewhere in it
	}
	return "; hops there: " + listed(names)
}

// listed lists names, of many the last: those are looked for most.
func listed(names []string) string {
	text := ""
	if over := len(names) - mostNamed; over > 0 {
		names = names[over:]
		text = fmt.Sprintf("%d earlier ones, ", over)
	}
	return text + strings.Join(names, ", ")
}

// misspelt returns an error if the first argument is nothing that is there, but nearly the
// name of a command.
func misspelt(root *cobra.Command, args []string) error {
	if len(args) == 0 {
		return nil
	}
	if _, err := os.Lstat(args[0]); err == nil {
		return nil
	}
	var names []string
	for _, c := range root.Commands() {
		names = append(names, c.Name())
	}
	if hint := flight.Closest(args[0], names); hint != "" {
		return usageError{fmt.Errorf("%q is neither a command nor a folder or log that is there%s", args[0], hint)}
	}
	return nil
}

// bookAround is the folder that would be the logbook of a hop at path.
func bookAround(path string) string { return filepath.Dir(filepath.Clean(path)) }
