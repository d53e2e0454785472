package importers

import (
	"fmt"
	"strings"
)

// words describes the dress for people.
func (d *dress) words(timeForm string) string {
	if d.nmea {
		return "NMEA 0183 sentences"
	}
	parts := []string{map[byte]string{
		',': "commas", ';': "semicolons", '\t': "tabs", '|': "bars", ' ': "blanks",
	}[d.delim]}
	if d.dec == ',' {
		parts = append(parts, "decimal comma")
	}
	if d.encoding != "" {
		parts = append(parts, d.encoding)
	}
	if d.crlf {
		parts = append(parts, "CR LF")
	}
	if d.quoted {
		parts = append(parts, "quoted values")
	}
	switch {
	case d.header == nil:
		parts = append(parts, "no header")
	case d.headerLine > 1 || d.units != nil:
		parts = append(parts, fmt.Sprintf("header in line %d", d.headerLine))
	}
	if d.units != nil {
		parts = append(parts, fmt.Sprintf("units in line %d", d.unitsLine))
	}
	if d.comments > 0 {
		parts = append(parts, fmt.Sprintf("%d comment lines before the data", d.comments))
	}
	if timeForm != "" {
		parts = append(parts, timeForm)
	}
	return strings.Join(parts, ", ")
}
