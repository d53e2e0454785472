package importers

import (
	"fmt"
	"path/filepath"

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
				filepath.Join(dir, flight.HopFile), fs.Name, flight.Nearest(fs.Name, names))
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
			return fmt.Errorf("hop.toml speaks of column %q, which this file does not have%s", s.Name, flight.Nearest(s.Name, f.dress.header))
		}
	}
	return nil
}

// checkUserUnit holds the unit that hop.toml gives a column against its quantity, which
// may come from the column's name.
func (c *column) checkUserUnit() error {
	if c.user == nil || c.quantity == "" {
		return nil
	}
	if err := c.quantity.CheckUnit(c.user.Unit); err != nil {
		return fmt.Errorf("hop.toml, column %q: %w; if it holds something else, give its quantity too", c.header, err)
	}
	return nil
}
