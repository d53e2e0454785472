package report

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"hopcard/analysis/debrief"
	"hopcard/analysis/stability"
	"hopcard/flight"
)

func pdfCard(t *testing.T, d *debrief.Debrief, paper Paper) []byte {
	t.Helper()
	return rendered(t, func(b *bytes.Buffer) error { return PDF(b, d, paper) })
}

// pdfText extracts the text of a PDF with poppler's pdftotext.
func pdfText(t *testing.T, pdf []byte) string {
	t.Helper()
	tool, err := exec.LookPath("pdftotext")
	if err != nil {
		t.Skip("pdftotext is not installed")
	}
	path := filepath.Join(t.TempDir(), "card.pdf")
	if err := os.WriteFile(path, pdf, 0o600); err != nil {
		t.Fatal(err)
	}
	out, err := exec.Command(tool, "-layout", path, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	return string(out)
}

func pages(t *testing.T, pdf []byte) int {
	t.Helper()
	m := regexp.MustCompile(`/Type /Pages\s[^>]*/Count (\d+)`).FindSubmatch(pdf)
	if m == nil {
		t.Fatal("no page tree")
	}
	n, err := strconv.Atoi(string(m[1]))
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func TestPDFPapers(t *testing.T) {
	for paper, box := range map[Paper]string{A4: "/MediaBox [0 0 595.28 841.89]", Letter: "/MediaBox [0 0 612.00 792.00]"} {
		pdf := pdfCard(t, flownDebrief(), paper)
		if !bytes.HasPrefix(pdf, []byte("%PDF-")) || !bytes.Contains(pdf, []byte(box)) {
			t.Errorf("%s: no %s", paper, box)
		}
		if n := pages(t, pdf); n > fewPages {
			t.Errorf("%s: %d pages", paper, n)
		}
	}
}

// The dates of the file are those of the hop: nothing of the day it was printed.
func TestPDFDates(t *testing.T) {
	if pdf := pdfCard(t, flownDebrief(), A4); bytes.Count(pdf, []byte("D:20310719061030")) != 2 {
		t.Error("creation and modification are not dated by the hop")
	}
	if pdf := pdfCard(t, emptyDebrief(), A4); bytes.Count(pdf, []byte("D:19700101000000")) != 2 {
		t.Error("a hop without date is not dated by a fixed day")
	}
}

// The text of the PDF is the card, and its letters beyond ASCII are there.
func TestPDFText(t *testing.T) {
	d := flownDebrief()
	text := strings.Join(strings.Fields(pdfText(t, pdfCard(t, d, A4))), " ")
	for _, want := range []string{
		"Test card: hop marsh-03", "Verdict: STOP", "light bar: 0.4 kg each side", "182.4 (176.1 to 188.9)", "180° behind", "ω",
		"1: pitch, airframe, 200.0 s to 214.0 s", "Remarks", "Inspector", "page 1 of",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("not in the PDF: %q", want)
		}
	}
}

// The numbers of the PDF's table are those of the JSON.
func TestPDFAgreesWithJSON(t *testing.T) {
	d := flownDebrief()
	text := pdfText(t, pdfCard(t, d, A4))
	var doc struct {
		Responses []map[string]json.RawMessage
	}
	if err := json.Unmarshal(rendered(t, func(b *bytes.Buffer) error { return JSON(b, d) }), &doc); err != nil {
		t.Fatal(err)
	}
	compared := 0
	for name, row := range map[string]struct {
		label string
		k     float64
	}{
		"correlation_lag_s": {"correlation lag", 1e3}, "effective_delay_s": {"effective delay", 1e3}, "phase_delay_s": {"phase delay", 1e3},
		"w180_rad_s": {"180 deg behind at", 1}, "bandwidth_rad_s": {"bandwidth", 1},
	} {
		var e struct{ Value, Low, High float64 }
		for _, r := range doc.Responses[:2] { // of roll
			if v, ok := r[name]; ok {
				if err := json.Unmarshal(v, &e); err != nil {
					t.Fatal(err)
				}
			}
		}
		m := regexp.MustCompile(`(?m)^\s*` + row.label + `\s+(?:ms|rad/s)\s+([-0-9.]+) \(([-0-9.]+) to ([-0-9.]+)\)`).FindStringSubmatch(text)
		if m == nil {
			t.Errorf("no row %q in\n%s", row.label, text)
			continue
		}
		for i, want := range []float64{e.Value, e.Low, e.High} {
			got, err := strconv.ParseFloat(m[i+1], 64)
			digits := len(m[i+1]) - 1 - strings.IndexByte(m[i+1]+".", '.')
			if err != nil || strconv.FormatFloat(want*row.k, 'f', max(0, digits), 64) != m[i+1] {
				t.Errorf("%s: printed %v, JSON says %v", row.label, got, want*row.k)
			}
			compared++
		}
	}
	if compared < 15 {
		t.Errorf("only %d numbers compared", compared)
	}
}

// Text that no face or reader is made for does no harm, and what can be printed is.
func TestPDFHostileText(t *testing.T) {
	text := pdfText(t, pdfCard(t, hostileDebrief(evilText), Letter))
	for _, r := range text {
		if r == 0x1b || r == 0x202e {
			t.Fatalf("%U is in the text", r)
		}
	}
	if !strings.Contains(text, "<script>alert(1)</script>") {
		t.Error("harmless here, the text should be shown as it is")
	}
}

// Very many flags take more pages, and none is lost.
func TestPDFManyFlags(t *testing.T) {
	d := flownDebrief()
	d.Stability.Unstable = nil
	for i := range 150 {
		d.Stability.Unstable = append(d.Stability.Unstable, stability.Unstable{Axis: flight.RollAxis, Kind: stability.Limit,
			Span: flight.Span{FromS: float64(i), ToS: float64(i) + 0.5}, Reason: fmt.Sprintf("reason number %d", i)})
	}
	pdf := pdfCard(t, d, A4)
	if n := pages(t, pdf); n < 3 || n > 5 {
		t.Errorf("%d pages", n)
	}
	text := strings.Join(strings.Fields(pdfText(t, pdf)), " ")
	for i := range 150 {
		if !strings.Contains(text, fmt.Sprintf("reason number %d", i)) {
			t.Errorf("flag %d is not on the card", i)
		}
	}
}

// No text is set beyond the right edge, whatever the words.
func TestPDFLinesFit(t *testing.T) {
	s, err := newSheet(flownDebrief(), A4, 1)
	if err != nil {
		t.Fatal(err)
	}
	s.font(bodyPt, false)
	const width = 100
	for _, text := range []string{"a short text", strings.Repeat("W", 400), strings.Repeat("word ", 100), "", "\U0001f6e9 \u05d0 \uffff"} {
		for _, l := range s.lines(text, width) {
			if w := s.doc.GetStringWidth(l); w > width+0.01 {
				t.Errorf("%.20q: line %q is %.1f pt wide", text, l, w)
			}
		}
	}
}

// So are those of the margins, for the pilot as flown and for each that is assumed.
func TestPDFMarginsAgreeWithJSON(t *testing.T) {
	d := flownDebrief()
	text := pdfText(t, pdfCard(t, d, A4))
	type estimate struct{ Value, Low, High float64 }
	var doc struct {
		Margins []struct {
			Phase   *estimate `json:"phase_margin_deg"`
			Gain    *estimate `json:"gain_margin_db"`
			Assumed []struct {
				DelayS float64   `json:"delay_s"`
				Phase  *estimate `json:"phase_margin_deg"`
				Gain   *estimate `json:"gain_margin_db"`
				Most   *estimate `json:"most_gain_percent_per_deg"`
			}
		}
	}
	if err := json.Unmarshal(rendered(t, func(b *bytes.Buffer) error { return JSON(b, d) }), &doc); err != nil {
		t.Fatal(err)
	}
	words := func(e *estimate, decimals int) string {
		if e == nil {
			return "not measured"
		}
		return fmt.Sprintf("%.*f (%.*f to %.*f)", decimals, e.Value, decimals, e.Low, decimals, e.High)
	}
	m := doc.Margins[0]
	rows := []string{"roll, as flown " + words(m.Phase, 1) + " " + words(m.Gain, 1) + " -"}
	for _, a := range m.Assumed {
		rows = append(rows, fmt.Sprintf("roll, %g s reaction %s %s %s", a.DelayS, words(a.Phase, 1), words(a.Gain, 1), words(a.Most, 2)))
	}
	if len(rows) != 4 {
		t.Fatalf("%d rows of margins", len(rows))
	}
	page := strings.Join(strings.Fields(text), " ")
	for _, want := range rows {
		if !strings.Contains(page, want) {
			t.Errorf("not in the PDF: %q", want)
		}
	}
}
