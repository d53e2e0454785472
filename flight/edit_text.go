package flight

import (
	"bytes"
	"fmt"
	"regexp"
	"strings"
	"unicode/utf8"

	"github.com/pelletier/go-toml/v2/unstable"
)

// The text of a hop.toml, cut into its tables, so that one line can be changed and every
// other byte left as it is. The parser of the TOML library says where things are; it does
// not write.

// tomlTable is a table header and the keys below it. The first table of a text is the
// part above all headers.
type tomlTable struct {
	path string // "" for the first, else the keys of the header joined by dots
	from int    // start of the header's line
	head int    // end of it, newline included
	keys []tomlKey
}

// tomlKey is one key and its value.
type tomlKey struct {
	name     string
	from, to int    // of key = value, without what follows on the line
	end      int    // of its line, newline included
	text     string // the value if it is a string
}

func (t *tomlTable) key(name string) *tomlKey {
	for i := range t.keys {
		if t.keys[i].name == name {
			return &t.keys[i]
		}
	}
	return nil
}

// name is the value of the table's key "name".
func (t *tomlTable) name() string {
	if k := t.key("name"); k != nil {
		return k.text
	}
	return ""
}

// lastKeyEnd is the end of the line of its last key, or of the header.
func (t *tomlTable) lastKeyEnd() int {
	if n := len(t.keys); n > 0 {
		return t.keys[n-1].end
	}
	return t.head
}

// scanTables cuts a text into tables. There is always a first one.
func scanTables(text string) ([]tomlTable, error) {
	data := []byte(text)
	p := unstable.Parser{}
	p.Reset(data)
	ts := []tomlTable{{}}
	for p.NextExpression() {
		n := p.Expression()
		var path []string
		at := -1
		for it := n.Key(); it.Next(); {
			k := it.Node()
			if at < 0 {
				at = int(k.Raw.Offset)
			}
			path = append(path, string(k.Data))
		}
		if n.Kind == unstable.KeyValue {
			to := int(n.Raw.Offset + n.Raw.Length)
			to = len(bytes.TrimRight(data[:to], " \t"))
			k := tomlKey{name: strings.Join(path, "."), from: int(n.Raw.Offset), to: to, end: lineEnd(text, to)}
			if v := n.Value(); v.Kind == unstable.String {
				k.text = string(v.Data)
			}
			t := &ts[len(ts)-1]
			t.keys = append(t.keys, k)
			continue
		}
		ts = append(ts, tomlTable{path: strings.Join(path, "."), from: lineStart(text, at), head: lineEnd(text, at)})
	}
	if p.Error() != nil { // decoding words it better, with the line
		if err := decodeSettings(HopFile, data, &HopSettings{}); err != nil {
			return nil, err
		}
		return nil, fmt.Errorf("%s: %w", HopFile, p.Error())
	}
	return ts, nil
}

func lineStart(text string, at int) int { return strings.LastIndexByte(text[:at], '\n') + 1 }

func lineEnd(text string, at int) int {
	if i := strings.IndexByte(text[at:], '\n'); i >= 0 {
		return at + i + 1
	}
	return len(text)
}

// inPlace refuses to change what is written in a way that cannot be cut by lines.
func inPlace(text string, k *tomlKey, what string) error {
	return fmt.Errorf("%s:%d: %s is written as one value here, not as [[%s]]; change it there",
		HopFile, strings.Count(text[:k.from], "\n")+1, what, what)
}

// withFormat makes a text that says nothing a settings file.
func withFormat(text string) string {
	if strings.TrimSpace(text) == "" {
		return fmt.Sprintf("format = %d\n", SettingsFormat)
	}
	return text
}

func withNewline(text string) string {
	if text != "" && !strings.HasSuffix(text, "\n") {
		return text + "\n"
	}
	return text
}

// write carries the decision out on a text.
func (d Decision) write(text string) (string, error) {
	ts, err := scanTables(text)
	if err != nil {
		return "", err
	}
	for _, name := range []string{d.File, d.Column} {
		if !utf8.ValidString(name) || strings.ContainsAny(name, "\r\n") {
			return "", fmt.Errorf("%q cannot be named in %s; rename it in the log", name, HopFile)
		}
	}
	if d.File == "" {
		return d.set(text, &ts[0], nil)
	}
	if k := ts[0].key("file"); k != nil {
		return "", inPlace(text, k, "file")
	}
	var file, column, last *tomlTable // last belongs to the file
	next := len(text)
	for i := range ts {
		t := &ts[i]
		if last != nil && t.path != "file.column" {
			next = t.from
			break
		}
		switch {
		case t.path == "file" && t.name() == d.File:
			file, last = t, t
		case last != nil && t.name() == d.Column && d.Column != "":
			column, last = t, t
		case last != nil:
			last = t
		}
	}
	switch {
	case file == nil && d.Value == nil:
		return text, nil
	case file == nil:
		text = withNewline(text) + "\n[[file]]\nname = " + TOMLString(d.File) + "\n"
		return d.write(text)
	case d.Column == "":
		return d.set(text, file, file.key("name"))
	}
	if k := file.key("column"); k != nil {
		return "", inPlace(text, k, "file.column")
	}
	switch {
	case column != nil:
		return d.set(text, column, column.key("name"))
	case d.Value == nil:
		return text, nil
	}
	at := blockEnd(text, last.lastKeyEnd(), next)
	block := "\n[[file.column]]\nname = " + TOMLString(d.Column) + "\n"
	return d.write(withNewline(text[:at]) + block + text[at:])
}

// set puts the key into its table, or takes it out.
func (d Decision) set(text string, t *tomlTable, name *tomlKey) (string, error) {
	k := t.key(d.Key)
	if d.Value == nil {
		if k == nil {
			return text, nil
		}
		return cutKey(text, k), nil
	}
	v, err := tomlValue(d.Value)
	if err != nil {
		return "", err
	}
	written := d.Key + " = " + v
	if k != nil {
		return text[:k.from] + written + text[k.to:], nil
	}
	at := t.head
	if name != nil {
		at = name.end
	}
	if n := len(t.keys); n > 0 && (name == nil || t.keys[n-1].end > at) {
		at = t.keys[n-1].end
	}
	if i := commentedOut(text, t, d.Key); i >= 0 {
		at = i
	}
	return withNewline(text[:at]) + written + "\n" + text[at:], nil
}

// commentedOut is the end of the line in the table where key stands commented out, -1 if
// there is none: that is where a reader looks for it.
func commentedOut(text string, t *tomlTable, key string) int {
	is := regexp.MustCompile(`^[ \t]*#[ \t]*` + regexp.QuoteMeta(key) + `[ \t]*=`)
	header := regexp.MustCompile(`^[ \t]*#?[ \t]*\[`)
	for at := t.head; at < len(text); {
		end := lineEnd(text, at)
		for _, k := range t.keys { // a value of several lines may hold anything
			if at >= lineStart(text, k.from) && at < k.end {
				at, end = k.end, k.end
			}
		}
		if at == end {
			continue
		}
		line := text[at:end]
		if header.MatchString(line) {
			return -1
		}
		if is.MatchString(line) {
			return end
		}
		at = end
	}
	return -1
}

// cutKey takes a key out. What stands behind it on its line is somebody's remark and stays.
func cutKey(text string, k *tomlKey) string {
	start := lineStart(text, k.from)
	if strings.TrimSpace(text[k.to:k.end]) == "" && strings.TrimSpace(text[start:k.from]) == "" {
		return text[:start] + text[k.end:]
	}
	return text[:k.from] + strings.TrimLeft(text[k.to:], " \t")
}

// cutLines takes whole lines out, with one blank line before them.
func cutLines(text string, from, to int) string {
	if before := strings.TrimSuffix(text[:from], "\n"); strings.HasSuffix(before, "\n") {
		from = len(before)
	}
	return text[:from] + text[to:]
}

// blockEnd is where a block that begins before from ends, next being the start of the
// next header or the end of the text: remarks that stand right above the next header
// belong to that one.
func blockEnd(text string, from, next int) int {
	at := next
	if next < len(text) {
		for at > from {
			line := text[lineStart(text, at-1):at]
			if !strings.HasPrefix(strings.TrimLeft(line, " \t"), "#") {
				break
			}
			at -= len(line)
		}
		if at > from && strings.TrimSpace(text[lineStart(text, at-1):at]) != "" {
			at = next // no blank line above them: they go with this block
		}
	}
	for at > from && strings.TrimSpace(text[lineStart(text, at-1):at]) == "" {
		at = lineStart(text, at-1)
	}
	return at
}
