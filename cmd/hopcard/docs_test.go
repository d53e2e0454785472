package main

import (
	"encoding/json"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"testing"
)

// docs/methods.md explains every estimate that a gusty hop has in the JSON, by its name
// there, in backquotes.
func TestMethodsNameTheEstimates(t *testing.T) {
	text, err := os.ReadFile(filepath.Join("..", "..", "docs", "methods.md"))
	if err != nil {
		t.Fatal(err)
	}
	explained := map[string]bool{}
	for _, m := range regexp.MustCompile("`([a-z0-9_]+)`").FindAllStringSubmatch(string(text), -1) {
		explained[m[1]] = true
	}
	a := call(t, "report", filepath.Join(demoBook(t), "2031-05-10-b"), "--format", "json")
	if a.code != exitFine {
		t.Fatalf("exit %d, %s", a.code, a.stderr)
	}
	var doc any
	if err := json.Unmarshal([]byte(a.stdout), &doc); err != nil {
		t.Fatal(err)
	}
	names := map[string]bool{}
	estimatesIn(doc, "", names)
	if len(names) < 40 {
		t.Errorf("%d names of estimates, want at least 40: is this the JSON of a hop in gusts?", len(names))
	}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		if !explained[name] {
			t.Errorf("docs/methods.md does not explain %q", name)
		}
	}
}

// estimatesIn collects the names under which part of a document holds estimates, the
// objects with a "value".
func estimatesIn(part any, name string, names map[string]bool) {
	switch p := part.(type) {
	case map[string]any:
		if _, ok := p["value"]; ok {
			names[name] = true
		}
		for key, inner := range p {
			estimatesIn(inner, key, names)
		}
	case []any:
		for _, inner := range p {
			estimatesIn(inner, name, names)
		}
	}
}
