package report

import (
	"bytes"
	"os/exec"
	"regexp"
	"strings"
	"testing"

	"hopcard/analysis/plan"
	"hopcard/analysis/response"
	"hopcard/flight"
)

// syntheticPlan is a plan with one of everything that its card shows.
func syntheticPlan() *plan.Plan {
	a := &flight.Aircraft{Name: "Whinchat", Field: "Marsh End", RotorTurns: "clockwise"}
	c := flight.Configuration{Name: "light bar", Note: "450 g at each end", RotorSpeedRPM: 506}
	return &plan.Plan{
		Hop: "2031-07-20-a", Aircraft: a, Configuration: &c,
		Last: &plan.Earlier{Hop: &flight.Hop{Name: "marsh-03", Configuration: "bare head"}},
		Written: flight.Plan{Format: 1, Configuration: c.Name, LastHop: "marsh-03", Step: flight.NextStep, WishMS: 10,
			KnocksBefore: 3, KnocksAfter: 3, Limits: flight.Limits{AttitudeDeg: 12, RateDegS: 60, WindMeanMS: 2},
			Changed: []string{"bar weight 0.3 -> 0.45 kg"},
			Inputs: []flight.PlannedInput{
				{Kind: flight.Doublet, Axis: flight.PitchAxis, Count: 2, LengthS: 1.6, SizePercent: 8.5},
				{Kind: flight.Sweep, Axis: flight.RollAxis, Count: 1, LengthS: 45, SizePercent: 4, SizeEndPercent: 8, FromRadS: 0.63, ToRadS: 12},
				{Kind: flight.HandsStill, Count: 2, LengthS: 5},
				{Kind: flight.Hover, Count: 1, LengthS: 45},
			}},
		Changes:      []plan.Change{{What: "bar weight", Unit: "kg", From: 0.3, To: 0.45}},
		ChangesKnown: true,
		Why:          []string{"last hop marsh-03, bare head: go on", "Next step: change one thing."},
		Limits: []plan.Limit{
			{Name: "attitude, roll and pitch, from level", Value: 12, Unit: "deg", Source: "aircraft.toml"},
			{Name: "mean wind", Value: 2, Unit: "m/s", Source: "calm air first: wind class of aircraft.toml or its default"},
		},
		Aborts: []string{"roll or pitch beyond 10 deg from level: end the input, level, land"},
		Axes: []plan.AxisPlan{
			{Axis: flight.PitchAxis, Basis: plan.Measured, Hops: []string{"marsh-01", "marsh-02"}, HalfWidthS: 0.0054, FloorS: 0.005,
				PhaseHalfWidthS: 0.0024, Reached: true, DoubletRad: 0.1, DoubletBandRadS: [2]float64{1.1, 9.5}},
			{Axis: flight.RollAxis, Basis: plan.Model, HalfWidthS: 0.012, FloorS: 0.0065, PhaseHalfWidthS: 0.008, SweepRad: 0.08},
		},
		Cautions: []string{"roll: with all of this about 12 ms are expected."},
		FlightS:  260,
	}
}

func TestPlanGolden(t *testing.T) {
	c := syntheticPlan()
	for name, write := range map[string]func(b *bytes.Buffer) error{
		"plan.md": func(b *bytes.Buffer) error { return PlanMarkdown(b, c) },
		"plan.html": func(b *bytes.Buffer) error {
			var page bytes.Buffer
			err := PlanHTML(&page, c)
			b.WriteString(strings.Replace(page.String(), cardStyle, "", 1)) // the look is every card's
			return err
		},
		"plan.json": func(b *bytes.Buffer) error { return PlanJSON(b, c) },
	} {
		t.Run(name, func(t *testing.T) { golden(t, name, rendered(t, write)) })
	}
}

func planPDF(t *testing.T, c *plan.Plan, paper Paper) []byte {
	t.Helper()
	return rendered(t, func(b *bytes.Buffer) error { return PlanPDF(b, c, paper) })
}

// A usual plan fits on one page of either paper, a long one on two.
func TestPlanPages(t *testing.T) {
	pages := regexp.MustCompile(`/Type /Page\b[^s]`)
	for _, paper := range []Paper{A4, Letter} {
		if n := len(pages.FindAll(planPDF(t, syntheticPlan(), paper), -1)); n != 1 {
			t.Errorf("%s: %d pages", paper, n)
		}
		long := syntheticPlan()
		for range 12 {
			long.Cautions = append(long.Cautions, strings.Repeat("beware of what is not expected ", 6))
		}
		if n := len(pages.FindAll(planPDF(t, long, paper), -1)); n > 2 {
			t.Errorf("%s, long: %d pages", paper, n)
		}
	}
	if !bytes.Equal(planPDF(t, syntheticPlan(), A4), planPDF(t, syntheticPlan(), A4)) {
		t.Error("the same plan gives other bytes")
	}
}

func TestPlanPDFText(t *testing.T) {
	if _, err := exec.LookPath("pdftotext"); err != nil {
		t.Skip("pdftotext is not installed")
	}
	cmd := exec.Command("pdftotext", "-layout", "-", "-")
	cmd.Stdin = bytes.NewReader(planPDF(t, syntheticPlan(), A4))
	out, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, says := range []string{"Card before the hop: 2031-07-20-a", "Build-up: next step", "KNOCK IT OFF", "±8.5 %", "45 s, 0.1 to 1.9 Hz", "teeter hinge"} {
		if !strings.Contains(string(out), says) {
			t.Errorf("the PDF does not say %q", says)
		}
	}
}

// Lines of the Markdown card fit the terminal but for tables, and nothing from outside gets
// through as it is.
func TestPlanFromOutside(t *testing.T) {
	c := syntheticPlan()
	evil := "<script>x</script>\x1b[31m|[a](http://b)\u202e"
	c.Hop, c.Configuration.Name, c.Configuration.Note, c.Aircraft.Name = evil, evil, evil, evil
	c.Why, c.Cautions, c.Axes[0].Hops = []string{evil}, []string{evil}, []string{evil}
	c.Changes[0].What, c.Last.Hop.Name, c.Last.Hop.Configuration = evil, evil, evil
	md := string(rendered(t, func(b *bytes.Buffer) error { return PlanMarkdown(b, c) }))
	page := string(rendered(t, func(b *bytes.Buffer) error { return PlanHTML(b, c) }))
	doc := string(rendered(t, func(b *bytes.Buffer) error { return PlanJSON(b, c) }))
	for name, text := range map[string]string{"md": md, "html": page, "json": doc} {
		if strings.ContainsAny(text, "\x1b\u202e") {
			t.Errorf("%s holds control characters", name)
		}
	}
	if strings.Contains(page, "<script>") || strings.Contains(strings.ReplaceAll(md, `\<`, ""), "<script>") || strings.Contains(md, "[a](") {
		t.Error("text from outside came through as marks")
	}
	planPDF(t, c, A4)
}

func TestPlanRows(t *testing.T) {
	p := &page{}
	cardPlan(p, nil)
	if p.b.Len() > 0 {
		t.Errorf("without a plan: %q", p.b.String())
	}
	h := &flight.Hop{Configuration: "a|b"}
	f := plan.Check(&flight.Plan{Format: 1, Configuration: "light bar", WishMS: 10,
		Inputs: []flight.PlannedInput{{Kind: flight.Doublet, Axis: flight.RollAxis, Count: 2, LengthS: 1.6, SizePercent: 6}}},
		plan.Parts{Hop: h, Responses: []response.Result{{Axis: flight.RollAxis, Input: flight.LatStick, Output: response.Rate, CorrelationLagS: est(0.2, 0.195, 0.205)}}})
	cardPlan(p, f)
	text := p.b.String()
	for _, says := range []string{`a\|b`, "| roll doublets", "not as planned", "As planned: roll correlation lag."} {
		if !strings.Contains(text, says) {
			t.Errorf("%q is missing in\n%s", says, text)
		}
	}
	if err := writeDocument(new(bytes.Buffer), object{{"plan", planOf(f)}}); err != nil {
		t.Error(err)
	}
}
