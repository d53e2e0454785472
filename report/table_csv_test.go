package report

import (
	"bytes"
	"encoding/csv"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"hopcard/analysis/debrief"
)

func csvCard(t *testing.T, d *debrief.Debrief) [][]string {
	t.Helper()
	rows, err := csv.NewReader(bytes.NewReader(rendered(t, func(b *bytes.Buffer) error { return CSV(b, d) }))).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

func TestCSVGolden(t *testing.T) {
	golden(t, "card.csv", rendered(t, func(b *bytes.Buffer) error { return CSV(b, syntheticDebrief()) }))
	golden(t, "card-empty.csv", rendered(t, func(b *bytes.Buffer) error { return CSV(b, emptyDebrief()) }))
}

func TestCSVTable(t *testing.T) {
	rows := csvCard(t, syntheticDebrief())
	if got := strings.Join(rows[0], ","); got != "item,axis,value,low,high,unit,text,from_s,to_s" {
		t.Fatalf("header %s", got)
	}
	want := []string{"correlation lag", "roll", "182.4", "176.1", "188.9", "ms", "", "", ""}
	found := false
	for _, row := range rows[1:] {
		found = found || strings.Join(row, ",") == strings.Join(want, ",")
		for _, c := range []int{2, 3, 4, 7, 8} {
			if row[c] == "" {
				continue
			}
			if _, err := strconv.ParseFloat(row[c], 64); err != nil {
				t.Errorf("no number in %q", row)
			}
		}
	}
	if !found {
		t.Errorf("no row %q", want)
	}
}

// No cell of text starts a formula, and none holds what a terminal would obey.
func TestCSVIsInert(t *testing.T) {
	for _, evil := range []string{"=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "  =1", "\r\n=1", "\"=1", "\u202e=1", "|calc", "＝1", "%0A=1", evilText} {
		for _, row := range csvCard(t, hostileDebrief(evil))[1:] {
			for _, c := range []int{0, 1, 5, 6} {
				inert(t, row[c])
			}
		}
	}
	rapid.Check(t, func(r *rapid.T) {
		cell := inertCell(rapid.SampledFrom([]string{"", " ", "'", "\"", "\x00", "\t"}).Draw(r, "start") + hostileText().Draw(r, "text"))
		inert(r, cell)
	})
}

func inert(t interface{ Errorf(string, ...any) }, cell string) {
	if s := strings.TrimLeft(cell, " \""); s != "" && strings.ContainsRune("=+-@|%＝＋－＠\t\r", []rune(s)[0]) {
		t.Errorf("cell %q may be taken for a formula", cell)
	}
	if Clean(cell) != cell {
		t.Errorf("cell %q is not clean", cell)
	}
}
