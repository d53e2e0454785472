package importers

import (
	"fmt"
	"path/filepath"
	"strings"

	"hopcard/flight"
)

// checkOverrides makes sure that hop.toml speaks of files that exist.
func checkOverrides(s *flight.HopSettings, dir string, files []string) error {
	if s == nil {
		return nil
	}
	var names []string
	for _, f := range files {
		names = append(names, filepath.Base(f))
	}
	for _, fs := range s.Files {
		known := false
		for _, n := range names {
			known = known || n == fs.Name
		}
		if !known {
			return fmt.Errorf("%s: there is no log %q in this hop%s",
				filepath.Join(dir, flight.HopFile), fs.Name, nearestName(fs.Name, names))
		}
	}
	return nil
}

// applyColumnSettings hands each column what hop.toml says about it.
func (f *logFile) applyColumnSettings() error {
	if f.settings == nil {
		return nil
	}
	for i := range f.settings.Columns {
		s := &f.settings.Columns[i]
		known := false
		for _, c := range f.columns {
			if c.header == s.Name && c.user == nil {
				c.user, known = s, true
				break
			}
		}
		if !known {
			return fmt.Errorf("hop.toml speaks of column %q, which this file does not have%s", s.Name, nearestName(s.Name, f.dress.header))
		}
	}
	return nil
}

// nearestName words the name closest to the one asked for, or all there are.
func nearestName(name string, known []string) string {
	best, bestD := "", len(name)/2+2
	for _, k := range known {
		if d := letterChanges(strings.ToLower(name), strings.ToLower(k)); d < bestD {
			best, bestD = k, d
		}
	}
	if best != "" {
		return fmt.Sprintf("; did you mean %q?", best)
	}
	return "; there are: " + strings.Join(known, ", ")
}

// letterChanges is the least number of letters to change, add or drop between a and b
// (Levenshtein 1966).
func letterChanges(a, b string) int {
	row := make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range len(a) {
		diag := row[0]
		row[0] = i + 1
		for j := range len(b) {
			change := diag
			if a[i] != b[j] {
				change++
			}
			diag = row[j+1]
			row[j+1] = min(change, row[j]+1, row[j+1]+1)
		}
	}
	return row[len(b)]
}
