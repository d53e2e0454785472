package importers

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// readCell reads a cell as a row does: the fast path, or else strconv.
func readCell(text string, dec byte) (v float64, ok, fast bool) {
	// Once at the end of a buffer and once with text after it: two ways through.
	short := append([]byte(text), '\n')
	v, next, ok := fastNumber(short, 0, dec)
	long := append([]byte(text), "\n71234567,89123456,71234567"...)
	if v2, next2, ok2 := fastNumber(long, 0, dec); ok != ok2 || (ok && (next != next2 || math.Float64bits(v) != math.Float64bits(v2))) {
		panic(fmt.Sprintf("%q: %v %d %v at the end, %v %d %v before text", text, v, next, ok, v2, next2, ok2))
	}
	if ok && next == len(text) {
		return v, true, true
	}
	v, ok = slowNumber([]byte(text), dec)
	return v, ok, false
}

// sameAsStrconv compares a cell with strconv, bit for bit.
func sameAsStrconv(t interface{ Fatalf(string, ...any) }, text string) {
	want, err := strconv.ParseFloat(text, 64)
	got, ok, fast := readCell(text, '.')
	if strings.ContainsAny(text, "xX_") {
		if ok {
			t.Fatalf("%q passes for a number", text)
		}
		return
	}
	if (err == nil || math.IsInf(want, 0)) != ok {
		t.Fatalf("%q: read %v, strconv says %v", text, ok, err)
	}
	if ok && math.Float64bits(got) != math.Float64bits(want) && !(math.IsNaN(got) && math.IsNaN(want)) {
		t.Fatalf("%q: %v (fast %v), strconv says %v", text, got, fast, want)
	}
}

func TestFloatsEqualStrconv(t *testing.T) {
	for _, text := range []string{
		"0", "-0", "+0", "0.0", "-0.0", "1", "-1", "+1.5", ".5", "5.", "-.5", "1e3", "1E3", "1e-3", "1e+3", "1.5e-7", "123456789012345678",
		"9007199254740992", "9007199254740993", "0.1", "0.3", "1e22", "1e23", "1e-22", "1e-23", "1e308", "1e309", "-1e309", "5e-324", "2e-324",
		"0.000000000000000000000001", "179769313486231570000000000000", "1.7976931348623157e308", "2.2250738585072011e-308", "inf", "-Inf",
		"nan", "NaN", "infinity", "", "-", "+", ".", "e", "1e", "1e+", "--1", "1-", "1.2.3", "1,2", "0x1p-2", "1_000", "1e0001", "1e00001",
		"00000000000000000001", "0.00000000000000000000000000000000000000001",
	} {
		if text == "" {
			continue
		}
		sameAsStrconv(t, text)
	}
}

func TestRandomFloatsEqualStrconv(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 200000 {
		x := math.Float64frombits(rng.Uint64())
		if math.IsNaN(x) || math.IsInf(x, 0) {
			continue
		}
		y := (rng.Float64() - 0.5) * math.Pow(10, float64(rng.IntN(12)))
		sameAsStrconv(t, strconv.FormatFloat(x, 'g', -1, 64))
		sameAsStrconv(t, strconv.FormatFloat(y, 'f', rng.IntN(20), 64))
		sameAsStrconv(t, strconv.FormatFloat(y, 'e', rng.IntN(20), 64))
	}
}

func TestAnyDigitsEqualStrconv(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sameAsStrconv(t, rapid.StringMatching(`[-+]?[0-9]{0,25}(\.[0-9]{0,25})?([eE][-+]?[0-9]{1,4})?`).
			Filter(func(s string) bool { return s != "" }).Draw(t, "number"))
	})
}

func TestDecimalComma(t *testing.T) {
	for text, want := range map[string]float64{"1,5": 1.5, "-0,25": -0.25, "3": 3, "1,2345678901234567890": 1.2345678901234568, "1,5e2": 150} {
		if v, ok, _ := readCell(text, ','); !ok || v != want {
			t.Errorf("%q: %v %v, want %v", text, v, ok, want)
		}
	}
	for _, text := range []string{"1.5", "1,2,3", "1.234,5"} {
		if v, ok, _ := readCell(text, ','); ok {
			t.Errorf("%q passes for %v where the comma is the decimal mark", text, v)
		}
	}
}

func FuzzNumber(f *testing.F) {
	for _, s := range []string{"1.5", "-0", "1e-5", "9007199254740993", ".5", "5.", "inf", "0x1p4", "1_0"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if s == "" || len(s) > 300 || strings.ContainsAny(s, "\n") {
			return
		}
		sameAsStrconv(t, s)
	})
}
