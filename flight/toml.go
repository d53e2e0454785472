package flight

import (
	"fmt"
	"strconv"
	"strings"
)

// tomlFloat writes a number so that it reads back the same; TOML tells it from a whole
// number by its point or exponent.
func tomlFloat(v float64) string {
	s := strconv.FormatFloat(v, 'g', -1, 64)
	if !strings.ContainsAny(s, ".einN") {
		s += ".0"
	}
	return s
}

// TOMLString writes a basic string of TOML v1.0.0, over several lines if the text has several.
func TOMLString(s string) string {
	s = strings.ReplaceAll(strings.ToValidUTF8(s, "\uFFFD"), "\r\n", "\n")
	long := strings.Contains(s, "\n")
	var b strings.Builder
	for i, r := range s {
		switch {
		case r == '\n' && long:
			b.WriteByte('\n')
		case r == '"' && long && i > 0 && s[i-1] != '"' && i < len(s)-1:
			b.WriteByte('"') // one alone ends nothing
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r == '\t':
			b.WriteByte('\t')
		case r < ' ' || r == 0x7F:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	if long {
		return "\"\"\"\n" + b.String() + "\"\"\""
	}
	return `"` + b.String() + `"`
}
