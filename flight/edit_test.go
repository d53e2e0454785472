package flight

import (
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

const written = `# the hop of the wet morning
format = 1
configuration = "light bar" # as weighed
notes = """
# sign = 3
[[file]]
damp seat"""

# the gyro box
[[file]]
name = "attitude.csv"

[[file.column]]
name = "p"
#quantity = "roll rate" # 90 % sure
#unit = "deg/s"
#sign = 1 # as usual
# looked at twice

# what follows is about q
[[file.column]]
name = 'q'
sign=1   # box upside down?

# the sticks
[[file]]
name = "sticks.csv"
clock_offset_s = 12.5

[[exclude]]
from_s = 3.0
to_s = 4.5
why = "tail held by hand"

[[mark]]
time_s = 75.000
text = "wallow"
`

func TestDeciding(t *testing.T) {
	for _, c := range []struct {
		name     string
		d        Decision
		old, new string // the part of the text that changes
	}{
		{"a value that is there", Decision{"attitude.csv", "q", "sign", -1}, "sign=1   #", "sign = -1   #"},
		{"a key that stands commented out", Decision{"attitude.csv", "p", "sign", -1},
			"#sign = 1 # as usual\n", "#sign = 1 # as usual\nsign = -1\n"},
		{"a new key of a column", Decision{"attitude.csv", "q", "unit", "rad/s"},
			"sign=1   # box upside down?\n", "sign=1   # box upside down?\nunit = \"rad/s\"\n"},
		{"a new column of a file in the middle", Decision{"attitude.csv", "r", "skip", true},
			"sign=1   # box upside down?\n", "sign=1   # box upside down?\n\n[[file.column]]\nname = \"r\"\nskip = true\n"},
		{"a column of a file without any", Decision{"sticks.csv", "lat", "neutral", 1500.0},
			"clock_offset_s = 12.5\n", "clock_offset_s = 12.5\n\n[[file.column]]\nname = \"lat\"\nneutral = 1500.0\n"},
		{"a key of a file", Decision{"sticks.csv", "", "clock_offset_s", -0.25}, "clock_offset_s = 12.5", "clock_offset_s = -0.25"},
		{"a new file", Decision{"wind.csv", "", "skip", true}, "text = \"wallow\"\n", "text = \"wallow\"\n\n[[file]]\nname = \"wind.csv\"\nskip = true\n"},
		{"the hop", Decision{"", "", "configuration", `bar "C"`}, `"light bar" #`, `"bar \"C\"" #`},
		{"remarks over several lines", Decision{"", "", "notes", "one\n\"two\" and \"\"\"three\\\""},
			"\n# sign = 3\n[[file]]\ndamp seat\"\"\"", "\none\n\"two\" and \"\\\"\\\"three\\\\\\\"\"\"\""},
		{"taken back, its remark kept", Decision{"attitude.csv", "q", "sign", nil}, "sign=1   # box", "# box"},
		{"taken back", Decision{"sticks.csv", "", "clock_offset_s", nil}, "clock_offset_s = 12.5\n", ""},
		{"taken back where nothing is", Decision{"wind.csv", "v", "sign", nil}, "", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			if err := os.WriteFile(filepath.Join(dir, HopFile), []byte(written), 0o644); err != nil {
				t.Fatal(err)
			}
			e, s, err := Deciding(c.d).Try(dir)
			if err != nil {
				t.Fatal(err)
			}
			if want := strings.Replace(written, c.old, c.new, 1); e.After != want {
				t.Fatalf("got\n%s\nwant\n%s", e.After, want)
			}
			if err := e.Write(dir); err != nil {
				t.Fatal(err)
			}
			if read, err := ReadHopSettings(dir); err != nil || !reflect.DeepEqual(read, s) {
				t.Errorf("read back %+v, %v; want %+v", read, err, s)
			}
			if err := e.Back().Write(dir); err != nil {
				t.Fatal(err)
			}
			if text := fileText(t, dir); text != written {
				t.Errorf("after undo\n%s", text)
			}
		})
	}
}

// The first decision makes the file, and taking it back leaves none.
func TestDecidingWithoutFile(t *testing.T) {
	dir := t.TempDir()
	e, _, err := Deciding(Decision{"a.csv", "p", "sign", -1}, Decision{"a.csv", "p", "unit", "deg/s"}, Decision{"", "", "configuration", "B"}).Try(dir)
	if err != nil {
		t.Fatal(err)
	}
	if err := e.Write(dir); err != nil {
		t.Fatal(err)
	}
	want := "format = 1\nconfiguration = \"B\"\n\n[[file]]\nname = \"a.csv\"\n\n[[file.column]]\nname = \"p\"\nsign = -1\nunit = \"deg/s\"\n"
	if text := fileText(t, dir); text != want {
		t.Errorf("got\n%s", text)
	}
	if err := e.Back().Write(dir); err != nil {
		t.Fatal(err)
	}
	if _, err := os.Stat(filepath.Join(dir, HopFile)); !os.IsNotExist(err) {
		t.Errorf("the file is still there: %v", err)
	}
}

// What is wrong is said in one line, and the file stays as it is.
func TestDecidingRefuses(t *testing.T) {
	for _, c := range []struct {
		name, text string
		change     Change
		want       string
	}{
		{"quantity", written, Deciding(Decision{"attitude.csv", "p", "quantity", "rol rate"}), `quantity "rol rate" is not known; did you mean "roll rate"?`},
		{"unit", written, Deciding(Decision{"attitude.csv", "p", "unit", "degs"}), `unit "degs" is not known; did you mean "deg"?`},
		{"unit beside quantity", written, Deciding(Decision{"attitude.csv", "p", "quantity", "roll rate"}, Decision{"attitude.csv", "p", "unit", "m"}), "m is no unit of roll rate; it may be deg/s, rad/s"},
		{"sign", written, Deciding(Decision{"attitude.csv", "q", "sign", 3}), "sign = 3: write 1 or -1"},
		{"no travel", written, Deciding(Decision{"sticks.csv", "lat", "full_throw", 0.0}), "give the change from neutral to the stop"},
		{"key", written, Deciding(Decision{"sticks.csv", "", "clock_offset", 1.0}), `did you mean "clock_offset_s"?`},
		{"kind of value", written, Deciding(Decision{"sticks.csv", "", "clock_offset_s", "soon"}), "hop.toml:28: cannot decode"},
		{"empty interval", written, Excluding(ExcludeSpan{FromS: 5, ToS: 5}), "the end must come after the start"},
		{"interval not there", written, Including(Span{1, 2}), "no exclude from 1 to 2 s"},
		{"no number", written, Deciding(Decision{"sticks.csv", "", "clock_offset_s", inf()}), "no number"},
		{"tables in one value", "format = 1\nfile = [{name = \"a.csv\", column = [{name = \"p\"}]}]\n",
			Deciding(Decision{"a.csv", "p", "sign", -1}), "hop.toml:2: file is written as one value here"},
		{"columns in one value", "format = 1\n[[file]]\nname = \"a.csv\"\ncolumn = [{name = \"p\"}]\n",
			Deciding(Decision{"a.csv", "p", "sign", -1}), "hop.toml:4: file.column is written as one value here"},
		{"excludes in one value", "format = 1\nexclude = []\n", Excluding(ExcludeSpan{FromS: 5, ToS: 6}), "hop.toml:2: exclude is written as one value"},
		{"broken file", "format = \n", Deciding(Decision{"a.csv", "p", "sign", -1}), "hop.toml:1"},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			if err := os.WriteFile(filepath.Join(dir, HopFile), []byte(c.text), 0o644); err != nil {
				t.Fatal(err)
			}
			_, _, err := c.change.Try(dir)
			if err == nil || !strings.Contains(err.Error(), c.want) || strings.Contains(err.Error(), "\n") {
				t.Errorf("error %v, want one line with %q", err, c.want)
			}
			if text := fileText(t, dir); text != c.text {
				t.Errorf("the file became\n%s", text)
			}
		})
	}
}

func TestExcluding(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, HopFile), []byte(written), 0o644); err != nil {
		t.Fatal(err)
	}
	e, s, err := Excluding(ExcludeSpan{FromS: 40, ToS: 50.125, Why: "gusts of a lorry"}).Try(dir)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(s.Exclude); n != 2 || s.Exclude[1] != (ExcludeSpan{40, 50.125, "gusts of a lorry"}) {
		t.Errorf("excluded %+v", s.Exclude)
	}
	if want := written + "\n[[exclude]]\nfrom_s = 40.0\nto_s = 50.125\nwhy = \"gusts of a lorry\"\n"; e.After != want {
		t.Errorf("got\n%s", e.After)
	}
	if err := e.Write(dir); err != nil {
		t.Fatal(err)
	}
	e, s, err = Including(Span{3, 4.5}).Try(dir)
	if err != nil {
		t.Fatal(err)
	}
	if n := len(s.Exclude); n != 1 || s.Exclude[0].FromS != 40 {
		t.Errorf("excluded %+v", s.Exclude)
	}
	if err := os.WriteFile(filepath.Join(dir, HopFile), []byte(written), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := e.Write(dir); err == nil || !strings.Contains(err.Error(), "changed elsewhere") {
		t.Errorf("an edit of another text was written: %v", err)
	}
	if _, err := e.Change()(written); err == nil {
		t.Error("an edit was repeated on another text")
	}
}

// Whatever is decided on whatever was decided before is read back, leaves the rest as it
// was, and is undone to the byte.
func TestDecisionsProperty(t *testing.T) {
	files, columns := []string{"a.csv", "b.csv", `c "x".csv`}, []string{"p", "q", "lat stick", `a "b"`}
	rapid.Check(t, func(rt *rapid.T) {
		texts := []string{rapid.SampledFrom([]string{"", written, "format = 1", "format = 1\n# end"}).Draw(rt, "text")}
		for range rapid.IntRange(1, 8).Draw(rt, "decisions") {
			d := Decision{File: rapid.SampledFrom(files).Draw(rt, "file"), Column: rapid.SampledFrom(columns).Draw(rt, "column")}
			d.Key = rapid.SampledFrom([]string{"sign", "neutral", "skip", "unit"}).Draw(rt, "key")
			d.Value = map[string]any{"sign": -1, "neutral": rapid.Float64().Draw(rt, "v"), "skip": true, "unit": "percent"}[d.Key]
			if rapid.Bool().Draw(rt, "back") {
				d.Value = nil
			}
			text := texts[len(texts)-1]
			after, err := Deciding(d)(text)
			if err != nil {
				rt.Fatal(err)
			}
			s := &HopSettings{}
			if err := decodeSettings(HopFile, []byte(after), s); err != nil {
				rt.Fatalf("%v in\n%s", err, after)
			}
			checkDecided(rt, s, d)
			for line := range strings.SplitSeq(text, "\n") { // no remark is lost
				if _, r, ok := strings.Cut(line, "#"); ok && !strings.Contains(after, "#"+r) {
					rt.Fatalf("%q is lost in\n%s", line, after)
				}
			}
			texts = append(texts, after)
		}
		for i := len(texts) - 1; i > 0; i-- {
			back, err := Edit{texts[i-1], texts[i]}.Back().Change()(texts[i])
			if err != nil || back != texts[i-1] {
				rt.Fatalf("undo gives %v\n%s", err, back)
			}
		}
	})
}

func checkDecided(rt *rapid.T, s *HopSettings, d Decision) {
	c := s.File(d.File).Column(d.Column)
	if c == nil {
		if d.Value != nil {
			rt.Fatalf("%+v is not there", d)
		}
		return
	}
	got := map[string]any{"sign": c.Sign, "skip": c.Skip, "unit": string(c.Unit), "neutral": 0.0}
	if c.Neutral != nil {
		got["neutral"] = *c.Neutral
	}
	want := d.Value
	if want == nil {
		want = map[string]any{"sign": 0, "skip": false, "unit": "", "neutral": 0.0}[d.Key]
	}
	if got[d.Key] != want {
		rt.Fatalf("%+v is read back as %v", d, got[d.Key])
	}
}

// No text makes the editor fail, and what it says yes to can be read.
func FuzzDeciding(f *testing.F) {
	f.Add(written, "attitude.csv", "p", "note")
	f.Add("format = 1\r\n[[file]]\r\nname = \"a\"\r\n", "a", "", "x\r\ny")
	f.Add("a.b = '''\n#'''\n[c]\n", "a", "b", "\"\"\"")
	f.Add("", "\xff", "a\nb", "\xff")
	f.Fuzz(func(t *testing.T, text, file, column, notes string) {
		after, err := Deciding(Decision{file, column, "skip", true}, Decision{"", "", "notes", notes})(text)
		if err != nil {
			return
		}
		if _, err := scanTables(after); err != nil {
			t.Fatalf("%v in\n%s\nfrom\n%s", err, after, text)
		}
	})
}

func TestQuantityUnits(t *testing.T) {
	for q, want := range map[Quantity]string{
		RollRate: "[deg/s rad/s]", LatStick: "[percent unit pulse_us counts]", WindSpeed: "[m/s kt km/h mph]",
		Time: "[s ms us ns iso8601 hh:mm:ss]", RotorSpeed: "[rad/s rpm]", QuaternionW: "[unit]",
	} {
		if got := fmt.Sprint(q.Units()); got != want {
			t.Errorf("%s: %s, want %s", q, got, want)
		}
	}
	if err := Roll.CheckUnit(RPM); err == nil || err.Error() != "rpm is no unit of roll attitude; it may be deg, rad" {
		t.Errorf("error %v", err)
	}
}

func fileText(t *testing.T, dir string) string {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, HopFile))
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func inf() float64 {
	zero := 0.0
	return 1 / zero
}
