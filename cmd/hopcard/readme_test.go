package main

import (
	"flag"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "refresh what README.md quotes of the program's output")

// readmeBlock is one block of README.md that shows a command and parts of what it prints.
var readmeBlock = regexp.MustCompile("(?s)```console\n\\$ (hopcard [^\n]*)\n(.*?)```")

// What README.md quotes must be what the program prints, but for the figures, which may
// differ in a digit between machines. Parts left out are marked with three dots.
func TestReadmeQuotesTheProgram(t *testing.T) {
	path := filepath.Join("..", "..", "README.md")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	text := string(data)
	blocks := readmeBlock.FindAllStringSubmatch(text, -1)
	if len(blocks) < 3 {
		t.Fatalf("%d commands quoted, want at least 3", len(blocks))
	}
	for _, b := range blocks {
		whole, command, quoted := b[0], b[1], b[2]
		args := words(strings.ReplaceAll(command, demoDir, demoBook(t)))[1:]
		a := call(t, args...)
		if a.code != exitFine {
			t.Errorf("%s: exit %d, %s", command, a.code, a.stderr)
			continue
		}
		fresh := ""
		rest := a.stdout
		for i, part := range strings.Split(quoted, "...\n") {
			if i > 0 {
				fresh += "...\n"
			}
			printed, after, ok := findPart(rest, part)
			if !ok || masked(printed) != masked(part) && !*update {
				t.Errorf("%s: not printed as quoted; run with -update, or choose another part to quote:\n%s", command, part)
				printed = part
			} else {
				rest = after
			}
			fresh += printed
		}
		text = strings.Replace(text, whole, "```console\n$ "+command+"\n"+fresh+"```", 1)
	}
	if *update && !t.Failed() {
		if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// words splits a command line at blanks, but not inside double quotes.
func words(line string) []string {
	var list []string
	for i, piece := range strings.Split(line, `"`) {
		if i%2 == 1 {
			list = append(list, piece)
		} else {
			list = append(list, strings.Fields(piece)...)
		}
	}
	return list
}

// findPart looks in out for the lines from the first of part to its last, told by how
// they begin, figures aside; of several ends it takes the one that makes the part as
// long as it was. A first line that is printed letter for letter is taken before one
// that differs in figures, and that before one that only begins alike: figures are part
// of some labels.
func findPart(out, part string) (found, after string, ok bool) {
	if part == "" {
		return "", out, true
	}
	want := strings.Split(strings.TrimRight(part, "\n"), "\n")
	lines := strings.SplitAfter(out, "\n")
	last := beginning(want[len(want)-1])
	for _, like := range []func(string) string{strings.TrimSpace, masked, beginning} {
		for i := range lines {
			if like(lines[i]) != like(want[0]) {
				continue
			}
			end := -1
			for j := i; j < len(lines); j++ {
				if beginning(lines[j]) == last && (end < 0 || distance(j-i+1, len(want)) < distance(end-i, len(want))) {
					end = j + 1
				}
			}
			if end > 0 {
				return strings.Join(lines[i:end], ""), strings.Join(lines[end:], ""), true
			}
		}
	}
	return "", out, false
}

func distance(a, b int) int { return max(a-b, b-a) }

// beginning is how a line begins, figures aside.
func beginning(line string) string {
	s := masked(line)
	return s[:min(len(s), 12)]
}

var (
	figures   = regexp.MustCompile(`not measured|-?[0-9][0-9.]*( \((-?[0-9.]+ to|above|below) -?[0-9.]+\)|, no interval)?`)
	blankRuns = regexp.MustCompile(`\s+`)
	lineRuns  = regexp.MustCompile(`-{2,}`)
)

// masked is text without its figures and without the widths and breaks they make.
func masked(s string) string {
	s = figures.ReplaceAllString(s, "#")
	s = lineRuns.ReplaceAllString(s, "-")
	return strings.TrimSpace(blankRuns.ReplaceAllString(s, " "))
}

// README.md names every command there is, and no other.
func TestReadmeNamesTheCommands(t *testing.T) {
	data, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	if err != nil {
		t.Fatal(err)
	}
	named := map[string]bool{}
	for _, m := range regexp.MustCompile("(?m)^\\| `hopcard ?([a-z]*)").FindAllStringSubmatch(string(data), -1) {
		named[m[1]] = true
	}
	delete(named, "")
	root := (&app{}).rootCommand()
	root.InitDefaultCompletionCmd()
	for _, c := range root.Commands() {
		if !named[c.Name()] {
			t.Errorf("README.md does not list hopcard %s", c.Name())
		}
		delete(named, c.Name())
	}
	for name := range named {
		t.Errorf("README.md lists hopcard %s, which is not there", name)
	}
}
