package report

import (
	"bytes"
	"context"
	"encoding/xml"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"hopcard/analysis/debrief"
	"hopcard/flight"
)

func htmlCard(t *testing.T, d *debrief.Debrief) string {
	t.Helper()
	return string(rendered(t, func(b *bytes.Buffer) error { return HTML(b, d) }))
}

// hostileDebrief has hostile text wherever text comes from outside.
func hostileDebrief(evil string) *debrief.Debrief {
	d := flownDebrief()
	d.Hop.Name, d.Hop.Notes, d.Hop.Configuration = evil, evil, evil
	d.Aircraft.Name, d.Aircraft.Field = evil, evil
	d.Hop.Marks[0].Text = evil
	for i := range d.Hop.Sources {
		d.Hop.Sources[i].File = evil
	}
	for i := range d.Findings {
		f := &d.Findings[i]
		f.File, f.Channel, f.Text, f.Advice = evil, evil, evil, evil
	}
	d.Verdict.Reasons[0].Text = evil
	d.Verdict.Advice[0] = evil
	d.Stability.Margins[0].Says, d.Stability.Margins[0].Pilot.Method = evil, evil
	d.Stability.Unstable[0].Reason = evil
	d.Stability.Modes[0].Method = evil
	d.Responses[0].Model.Form, d.Responses[0].Model.Parameters[0].Name = evil, evil
	return d
}

const evilText = "</td></style><script>alert(1)</script><img src=http://x.example/a onerror=x>\" onload=\"x' &amp; \x1b[31m\u202e=HYPERLINK(\"http://x\") \U0001f6e9"

func TestHTMLIsWhole(t *testing.T) {
	for name, d := range map[string]*debrief.Debrief{"full": flownDebrief(), "empty": emptyDebrief(), "hostile": hostileDebrief(evilText)} {
		t.Run(name, func(t *testing.T) {
			text := htmlCard(t, d)
			for _, want := range []string{"Verdict: ", "Remarks", "Inspector", "Cautions"} {
				if !strings.Contains(text, want) {
					t.Errorf("%q is missing", want)
				}
			}
			balanced(t, text)
			loadsNothing(t, text)
		})
	}
}

// loadsNothing looks at every element and attribute for something that would be fetched
// or run. Text is not looked at: a log may well mention an address.
func loadsNothing(t *testing.T, text string) {
	t.Helper()
	allowed := map[string]bool{}
	for _, name := range strings.Fields("html head meta title style body main section div h1 h2 h3 p ul li table tr th td figure figcaption svg path text span i") {
		allowed[name] = true
	}
	for _, tag := range regexp.MustCompile(`<([a-zA-Z0-9!]+)([^>]*)>`).FindAllStringSubmatch(text, -1) {
		name, attributes := tag[1], tag[2]
		if !allowed[name] && name != "!DOCTYPE" {
			t.Errorf("element %s", tag[0])
		}
		for _, a := range regexp.MustCompile(`([a-zA-Z:-]+)\s*=`).FindAllStringSubmatch(regexp.MustCompile(`"[^"]*"`).ReplaceAllString(attributes, ""), -1) {
			switch n := strings.ToLower(a[1]); {
			case strings.HasPrefix(n, "on"), n == "src", n == "href", n == "xlink:href", n == "style", n == "data", n == "action":
				t.Errorf("attribute %s in %s", n, tag[0])
			}
		}
	}
	for _, bad := range []string{"url(", "@import", "expression("} {
		if strings.Contains(cardStyle, bad) {
			t.Errorf("the style holds %q", bad)
		}
	}
	if strings.Count(text, "<style>") != 1 || strings.Contains(text, "<script") {
		t.Error("a style or script has come in from outside")
	}
}

// balanced reads the body as XML, but for the empty elements of HTML.
func balanced(t *testing.T, text string) {
	t.Helper()
	body := text[strings.Index(text, "<body>"):]
	body = strings.TrimSuffix(body, "</html>\n")
	dec := xml.NewDecoder(strings.NewReader(body))
	dec.Entity = xml.HTMLEntity
	for {
		if _, err := dec.Token(); err == io.EOF {
			return
		} else if err != nil {
			t.Fatalf("body: %v", err)
		}
	}
}

// A browser opens the page without a word on its console, its policy against loading
// anything in force.
func TestHTMLInBrowser(t *testing.T) {
	browser, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("chromium is not installed")
	}
	path := filepath.Join(t.TempDir(), "card.html")
	if err := os.WriteFile(path, []byte(htmlCard(t, hostileDebrief(evilText))), 0o600); err != nil {
		t.Fatal(err)
	}
	var dom, log bytes.Buffer
	ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
	defer cancel()
	cmd := exec.CommandContext(ctx, browser, "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--user-data-dir="+t.TempDir(),
		"--disable-background-networking", "--host-resolver-rules=MAP * ~NOTFOUND", "--enable-logging=stderr", "--dump-dom", "file://"+path)
	cmd.Stdout, cmd.Stderr = &dom, &log
	if err := cmd.Run(); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(dom.String(), "Verdict: STOP") || strings.Count(dom.String(), "<svg") < 3 {
		t.Error("the page was not built")
	}
	if strings.Contains(log.String(), "CONSOLE") {
		t.Errorf("the browser complains: %s", log.String())
	}
}

// The page says what the Markdown card says: every text of it, unescaped.
func TestHTMLHoldsTheWholeCard(t *testing.T) {
	d := flownDebrief()
	page := plainText(htmlCard(t, d))
	for _, b := range describe(d).blocks {
		texts := append([]string{}, b.text)
		for _, row := range b.rows {
			texts = append(texts, row...)
		}
		for _, s := range texts {
			if want := strings.Join(strings.Fields(unescaped(s)), " "); !strings.Contains(page, want) {
				t.Errorf("not on the page: %q", want)
			}
		}
	}
}

// plainText takes tags and entities off.
func plainText(page string) string {
	s := regexp.MustCompile(`(?s)<style>.*</style>|<[^>]*>`).ReplaceAllString(page, " ")
	s = strings.NewReplacer("&#34;", `"`, "&#39;", "'", "&lt;", "<", "&gt;", ">", "&amp;", "&").Replace(s)
	return strings.Join(strings.Fields(s), " ")
}

func TestUnescapedUndoesMarkdown(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := hostileText().Draw(t, "text")
		if got, want := unescaped(markdown(s, 1000)), Short(s, 1000); got != want {
			t.Fatalf("%q became %q", want, got)
		}
	})
	if got := unescaped("`hopcard check` lists them"); got != "hopcard check lists them" {
		t.Errorf("marks of code: %q", got)
	}
}

func TestHTMLGolden(t *testing.T) {
	golden(t, "card.html", []byte(htmlCard(t, flownDebrief())))
	golden(t, "card-empty.html", []byte(htmlCard(t, emptyDebrief())))
}

// Flags stand behind the verdict and are numbered as in the figures.
func TestFlagsFollowTheVerdict(t *testing.T) {
	page := plainText(htmlCard(t, flownDebrief()))
	verdict, flags, delays := strings.Index(page, "Verdict:"), strings.Index(page, flagsHeading+" 1: "), strings.Index(page, "Stick to answer")
	if verdict < 0 || flags < verdict || delays < flags {
		t.Errorf("verdict at %d, flags at %d, delays at %d", verdict, flags, delays)
	}
	for i, s := range sections(describe(flownDebrief()).blocks) {
		if s.heading == controlHeading {
			return
		}
		if i > 20 {
			break
		}
	}
	t.Errorf("no section %q", controlHeading)
}

func TestNewFormatsSameBytesEveryTime(t *testing.T) {
	d := flownDebrief()
	for name, write := range newFormats() {
		first := rendered(t, func(b *bytes.Buffer) error { return write(b, d) })
		for range 3 {
			if !bytes.Equal(first, rendered(t, func(b *bytes.Buffer) error { return write(b, d) })) {
				t.Errorf("%s differs between two runs", name)
			}
		}
	}
}

func newFormats() map[string]func(io.Writer, *debrief.Debrief) error {
	return map[string]func(io.Writer, *debrief.Debrief) error{
		"HTML": HTML, "CSV": CSV,
		"PDF on A4":     func(w io.Writer, d *debrief.Debrief) error { return PDF(w, d, A4) },
		"PDF on Letter": func(w io.Writer, d *debrief.Debrief) error { return PDF(w, d, Letter) },
	}
}

func TestNewFormatsReturnWriteErrors(t *testing.T) {
	for name, write := range newFormats() {
		if err := write(brokenWriter{}, flownDebrief()); err == nil || !strings.Contains(err.Error(), errFull.Error()) {
			t.Errorf("%s: error %v, want %v", name, err, errFull)
		}
	}
}

// Whatever the texts and numbers, every format is written without panic.
func TestNewFormatsTakeAnything(t *testing.T) {
	for _, evil := range []string{evilText, "", strings.Repeat("x", 5000), strings.Repeat("ש", 300), "\xff\xfe\uffff\U0010ffff", "\\`\\"} {
		for name, write := range newFormats() {
			d := hostileDebrief(evil)
			d.Hop.DurationS = []float64{302, 0, -1}[len(evil)%3]
			d.Stability.Unstable[1].Span = flight.Span{FromS: 500, ToS: 400}
			if err := write(io.Discard, d); err != nil {
				t.Errorf("%s of %.20q: %v", name, evil, err)
			}
		}
	}
}

// Printed from a browser the card takes two pages as well.
func TestHTMLPrintsOnTwoPages(t *testing.T) {
	printsOnTwoPages(t, htmlCard(t, flownDebrief()), A4)
}

func printsOnTwoPages(t *testing.T, text string, papers ...Paper) {
	t.Helper()
	browser, err := exec.LookPath("chromium")
	if err != nil {
		t.Skip("chromium is not installed")
	}
	for _, paper := range papers {
		size := map[Paper]string{A4: "A4", Letter: "Letter"}[paper]
		dir := t.TempDir()
		page, pdf := filepath.Join(dir, "card.html"), filepath.Join(dir, "card.pdf")
		// The reader's printer decides the paper; here the page must.
		if err := os.WriteFile(page, []byte(strings.Replace(text, "@page { ", "@page { size: "+size+"; ", 1)), 0o600); err != nil {
			t.Fatal(err)
		}
		ctx, cancel := context.WithTimeout(t.Context(), 2*time.Minute)
		defer cancel()
		cmd := exec.CommandContext(ctx, browser, "--headless", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--user-data-dir="+t.TempDir(),
			"--disable-background-networking", "--host-resolver-rules=MAP * ~NOTFOUND", "--no-pdf-header-footer", "--print-to-pdf="+pdf, "file://"+page)
		if out, err := cmd.CombinedOutput(); err != nil {
			t.Fatalf("%v: %s", err, out)
		}
		printed, err := os.ReadFile(pdf)
		if err != nil {
			t.Fatal(err)
		}
		if n := len(regexp.MustCompile(`/Type\s*/Page\b[^s]`).FindAll(printed, -1)); n < 1 || n > fewPages {
			t.Errorf("%s: %d pages", paper, n)
		}
	}
}
