package report

import (
	"bytes"
	"strings"
	"testing"
	"unicode"
	"unicode/utf8"

	"pgregory.net/rapid"
)

func TestClean(t *testing.T) {
	for _, c := range []struct{ name, in, want string }{
		{"plain", "roll_deg [deg]", "roll_deg [deg]"},
		{"empty", "", ""},
		{"blanks", "  a \t b\r\nc ", "a b c"},
		{"letters and signs", "Böe über 5 m/s², 3°", "Böe über 5 m/s², 3°"},
		{"colour", "\x1b[31;1mred\x1b[0m", "red"},
		{"clear screen", "a\x1b[2J\x1b[Hb", "ab"},
		{"window title", "a\x1b]0;owned\ab", "ab"},
		{"string up to terminator", "a\x1bPq#1\x1b\\b\x1b_x\u009cc", "abc"},
		{"single-character controls", "a\u009b31mb\u009d0;x\u009cc", "abc"},
		{"unfinished", "a\x1b[31", "a"},
		{"escape at the end", "a\x1b", "a"},
		{"character set", "a\x1b(0b", "ab"},
		{"two-character escape", "a\x1bcb", "ab"},
		{"back space and bell", "good\b\b\b\bbad\a", "goodbad"},
		{"direction override", "abc\u202egpj.exe\u2066x\u200f", "abcgpj.exex"},
		{"invisible", "a\u200b\u2060\ufeff\u00adb", "ab"},
		{"line separators", "a\u2028b\u2029c\u0085d", "a b c d"},
		{"broken text", "a\xff\xc3b", "a\ufffd\ufffdb"},
		{"tower of marks", "a" + strings.Repeat("\u0301", 40) + "b", "a" + strings.Repeat("\u0301", maxMarks) + "b"},
		{"tags", "a\U000e0041b", "ab"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if got := Clean(c.in); got != c.want {
				t.Errorf("Clean(%q) = %q, want %q", c.in, got, c.want)
			}
		})
	}
}

// hostileText draws text with many characters that steer terminals and readers.
func hostileText() *rapid.Generator[string] {
	pieces := rapid.SampledFrom([]string{
		"\x1b", "\x1b[", "\x1b]0;", "\a", "\x1b\\", "\u009b", "\u202e", "\u2066", "\u200b", "|", "`", "*", "_", "<b>", "&lt;",
		"[x](y)", "#", "\n", "\r", "\t", "\x00", "\x7f", "\xff", "\u0301", "a", "1.", "- ", "https://x", "$x$", "~~", "\\", "é", "\U000e0041",
	})
	return rapid.Custom(func(t *rapid.T) string {
		return strings.Join(rapid.SliceOfN(rapid.OneOf(pieces, rapid.String()), 0, 30).Draw(t, "pieces"), "")
	})
}

func TestCleanLeavesOnlyGraphic(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Clean(hostileText().Draw(t, "text"))
		if !utf8.ValidString(s) {
			t.Fatalf("%q is not valid UTF-8", s)
		}
		for _, r := range s {
			if !unicode.IsGraphic(r) || unicode.IsSpace(r) && r != ' ' {
				t.Fatalf("%q holds %U", s, r)
			}
		}
		if Clean(s) != s {
			t.Fatalf("cleaning twice changes %q to %q", s, Clean(s))
		}
	})
}

func TestShort(t *testing.T) {
	for _, c := range []struct {
		in   string
		n    int
		want string
	}{{"abc", 3, "abc"}, {"abcd", 3, "ab…"}, {"ab cd", 4, "ab…"}, {"äöüß", 3, "äö…"}, {"abc", 1, "…"}, {"abc", 0, "…"}} {
		if got := Short(c.in, c.n); got != c.want {
			t.Errorf("Short(%q, %d) = %q, want %q", c.in, c.n, got, c.want)
		}
	}
}

func TestMarkdownMarks(t *testing.T) {
	for in, want := range map[string]string{
		"roll_deg":                   "roll_deg",
		"_em_ and *strong*":          `\_em\_ and \*strong\*`,
		"a|b":                        `a\|b`,
		"<script>alert(1)</script>":  `\<script>alert(1)\</script>`,
		"[pay](javascript:x)":        `\[pay\](javascript:x)`,
		"# heading":                  `\# heading`,
		"- item":                     `\- item`,
		"1. item":                    `1\. item`,
		"0.8 of the rate":            "0.8 of the rate", // no item: no blank after the mark
		"7.":                         `7\.`,
		"3) item":                    `3\) item`,
		"see https://example.org":    `see https\://example.org`,
		"www.example.org":            `www\.example.org`,
		"&lt;":                       `\&lt;`,
		"salt & vinegar":             "salt & vinegar",
		"5 > 3":                      "5 > 3",
		"`code`":                     "\\`code\\`",
		"pilot@marsh-end":            `pilot\@marsh-end`,
		"back\\slash":                `back\\slash`,
		"a\n\n# injected\n| x | y |": `a # injected \| x \| y \|`,
	} {
		if got := markdown(in, textLength); got != want {
			t.Errorf("markdown(%q) = %q, want %q", in, got, want)
		}
	}
}

// Hostile text everywhere: the card keeps its shape and nothing reaches the terminal.
func TestHostileDebrief(t *testing.T) {
	lines := strings.Count(card(t, syntheticDebrief()), "\n## ")
	rapid.Check(t, func(t *rapid.T) {
		s := hostileText().Draw(t, "text")
		d := syntheticDebrief()
		d.Hop.Name, d.Hop.Configuration, d.Hop.Notes = s, s, s
		d.Aircraft.Name, d.Aircraft.Field = s, s
		d.Hop.Sources[0].File, d.Hop.Sources[0].Dress = s, s
		d.Hop.Channels[0].Column = s
		for i := range d.Findings {
			d.Findings[i].Text, d.Findings[i].File, d.Findings[i].Channel, d.Findings[i].Advice = s, s, s, s
		}
		d.Hop.Findings = d.Findings
		d.Verdict.Reasons[0].Text, d.Stability.Unstable[0].Reason = s, s
		var md, js, check bytes.Buffer
		if err := Markdown(&md, d); err != nil {
			t.Fatal(err)
		}
		if err := JSON(&js, d); err != nil {
			t.Fatal(err)
		}
		if err := Check(&check, d.Hop); err != nil {
			t.Fatal(err)
		}
		for name, b := range map[string]string{"card": md.String(), "JSON": js.String(), "check": check.String(), "line": LogbookLine(d)} {
			for _, r := range b {
				if r != '\n' && !unicode.IsGraphic(r) {
					t.Fatalf("%s holds %U", name, r)
				}
			}
		}
		if n := strings.Count(md.String(), "\n## "); n != lines {
			t.Fatalf("%d headings, want %d:\n%s", n, lines, md.String())
		}
		if strings.Contains(md.String(), "<b>") && !strings.Contains(md.String(), `\<b>`) {
			t.Fatal("markup of the log stands in the card")
		}
	})
}
