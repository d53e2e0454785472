package flight

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// PlanFile is the name of a hop's plan, in the folder that its logs will go into.
const PlanFile = "plan.toml"

// ErrPlanThere is returned where a plan would take the place of one that is there.
var ErrPlanThere = errors.New("there is a plan already")

// BuildUp is how a hop stands to the one before it.
type BuildUp string

// The build-up steps.
const (
	FirstHop    BuildUp = "first hop"
	NextStep    BuildUp = "next step"
	Repeat      BuildUp = "repeat"
	SmallerStep BuildUp = "smaller step"
	StepBack    BuildUp = "step back"
	CalmerAir   BuildUp = "calmer air"
)

// BuildUps lists the build-up steps, boldest first.
func BuildUps() []BuildUp {
	return []BuildUp{NextStep, FirstHop, Repeat, CalmerAir, SmallerStep, StepBack}
}

// Plan is what plan.toml says a hop is meant to be: the card before the hop. Zero numbers
// are not planned.
type Plan struct {
	Format        int      `toml:"format"`
	Configuration string   `toml:"configuration"`
	LastHop       string   `toml:"last_hop"` // the hop it builds on, empty for none
	Step          BuildUp  `toml:"step"`
	Changed       []string `toml:"changed"` // since the last hop, in words
	// WishMS is the wished half width of the 95 % interval of the delay, in ms.
	WishMS float64 `toml:"wish_ms"`
	// Taps on the airframe that put the loggers' clocks together.
	KnocksBefore int            `toml:"knocks_before"`
	KnocksAfter  int            `toml:"knocks_after"`
	Limits       Limits         `toml:"limits"`
	Inputs       []PlannedInput `toml:"input"`
}

// PlannedInput is one thing to fly, Count times: a doublet, steps or a sweep in an axis, or
// hands still or hover without one.
type PlannedInput struct {
	Kind  SegmentKind `toml:"kind"`
	Axis  Axis        `toml:"axis"`
	Count int         `toml:"count"`
	// LengthS is how long each takes; of a doublet both holds together.
	LengthS float64 `toml:"length_s"`
	// SizePercent is how far the stick goes from its trim, in percent of the travel from the
	// middle to a stop; a sweep goes on to SizeEndPercent.
	SizePercent    float64 `toml:"size_percent"`
	SizeEndPercent float64 `toml:"size_end_percent"`
	// FromRadS and ToRadS are where a sweep begins and ends.
	FromRadS float64 `toml:"from_rad_s"`
	ToRadS   float64 `toml:"to_rad_s"`
}

// PlannedKinds lists the kinds of segment that can be planned.
func PlannedKinds() []SegmentKind { return []SegmentKind{Doublet, Steps, Sweep, HandsStill, Hover} }

// Moves reports whether the input moves a stick, and so has an axis and a size.
func (i PlannedInput) Moves() bool {
	return i.Kind == Doublet || i.Kind == Steps || i.Kind == Sweep
}

// ReadPlan reads plan.toml in dir. ok is false, and the plan nil, if there is no such file;
// the error is a *SettingsError if its text is wrong.
func ReadPlan(dir string) (p *Plan, ok bool, err error) {
	path := filepath.Join(dir, PlanFile)
	data, err := os.ReadFile(path)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return nil, false, nil
	case err != nil:
		return nil, false, err
	}
	p, err = parsePlan(path, data)
	return p, err == nil, err
}

// parsePlan reads the text of a plan; path names it in errors.
func parsePlan(path string, data []byte) (*Plan, error) {
	p := &Plan{}
	if err := decodeSettings(path, data, p); err != nil {
		return nil, err
	}
	if err := p.check(path); err != nil {
		return nil, err
	}
	return p, nil
}

// WritePlan writes p to plan.toml in dir, whole or not at all. A plan that is there already
// is kept, and the error ErrPlanThere, wrapped, unless replace is set.
func WritePlan(dir string, p *Plan, replace bool) error {
	path := filepath.Join(dir, PlanFile)
	if err := p.check(path); err != nil {
		return err
	}
	if _, err := os.Lstat(path); !replace && err == nil {
		return fmt.Errorf("%s: %w", path, ErrPlanThere)
	}
	return ReplaceFile(path, []byte(p.Text()))
}

func (p *Plan) check(path string) error {
	wrong := func(format string, args ...any) error {
		return &SettingsError{path, 0, fmt.Sprintf(format, args...)}
	}
	if p.Format != SettingsFormat {
		return formatError(path, p.Format)
	}
	if p.Step != "" && !slices.Contains(BuildUps(), p.Step) {
		return wrong("step = %q is not known%s", p.Step, Nearest(string(p.Step), texts(BuildUps())))
	}
	if p.KnocksBefore < 0 || p.KnocksAfter < 0 {
		return wrong("knocks cannot be negative")
	}
	for _, f := range append(p.Limits.named(), named{"wish_ms", p.WishMS}) {
		if !(f.value >= 0 && f.value <= mostPlanned) {
			return wrong("%s = %g: write a number from 0 to %g", f.name, f.value, mostPlanned)
		}
	}
	for n, i := range p.Inputs {
		if err := i.check(); err != nil {
			return wrong("input %d: %v", n+1, err)
		}
	}
	return nil
}

// mostPlanned is more than any number of a plan.
const mostPlanned = 1e4

type named struct {
	name  string
	value float64
}

// named lists the limits as aircraft.toml spells them.
func (l Limits) named() []named {
	return []named{
		{"attitude_deg", l.AttitudeDeg}, {"rate_deg_s", l.RateDegS}, {"wind_mean_m_s", l.WindMeanMS},
		{"gust_spread_m_s", l.GustSpreadMS}, {"control_left_percent", l.ControlLeftPercent},
		{"damping_ratio", l.DampingRatio}, {"phase_margin_deg", l.PhaseMarginDeg}, {"gain_margin_db", l.GainMarginDB},
	}
}

func texts[T ~string](list []T) []string {
	var out []string
	for _, v := range list {
		out = append(out, string(v))
	}
	return out
}

func (i PlannedInput) check() error {
	switch {
	case !slices.Contains(PlannedKinds(), i.Kind):
		return fmt.Errorf("kind = %q cannot be planned%s", i.Kind, Nearest(string(i.Kind), texts(PlannedKinds())))
	case i.Moves() && !slices.Contains([]Axis{RollAxis, PitchAxis, YawAxis}, i.Axis):
		return fmt.Errorf("axis = %q: write \"roll\", \"pitch\" or \"yaw\"", i.Axis)
	case !i.Moves() && i.Axis != "":
		return fmt.Errorf("axis = %q: a %s has no axis", i.Axis, i.Kind)
	case i.Count < 1 || i.Count > 100:
		return fmt.Errorf("count = %d: write 1 to 100", i.Count)
	case !(i.LengthS > 0 && i.LengthS <= 3600):
		return fmt.Errorf("length_s = %g: write more than 0 and at most 3600", i.LengthS)
	}
	for _, f := range []named{
		{"size_percent", i.SizePercent}, {"size_end_percent", i.SizeEndPercent},
		{"from_rad_s", i.FromRadS}, {"to_rad_s", i.ToRadS},
	} {
		if !(f.value >= 0 && f.value <= 100) {
			return fmt.Errorf("%s = %g: write 0 to 100", f.name, f.value)
		}
	}
	if i.Moves() && i.SizePercent == 0 {
		return fmt.Errorf("size_percent is missing: say how far the stick goes")
	}
	if i.Kind == Sweep && !(i.FromRadS > 0 && i.ToRadS > 0 && i.FromRadS != i.ToRadS) {
		return fmt.Errorf("a sweep needs from_rad_s and to_rad_s, both above 0 and not the same")
	}
	return nil
}

// Text is the plan as plan.toml holds it, with a word on what may be edited.
func (p *Plan) Text() string {
	var b strings.Builder
	fmt.Fprintf(&b, "# The plan of one hop: what is to be flown, and inside which limits. It may be edited by\n"+
		"# hand; the card of the hop says beside it what was flown.\nformat = %d\n", SettingsFormat)
	text := func(key, value string) {
		if value != "" {
			fmt.Fprintf(&b, "%s = %s\n", key, TOMLString(value))
		}
	}
	number := func(key string, value float64) {
		if value != 0 {
			fmt.Fprintf(&b, "%s = %s\n", key, strconv.FormatFloat(value, 'g', -1, 64))
		}
	}
	text("configuration", p.Configuration)
	text("last_hop", p.LastHop)
	text("step", string(p.Step))
	if len(p.Changed) > 0 {
		b.WriteString("changed = [\n")
		for _, c := range p.Changed {
			fmt.Fprintf(&b, "  %s,\n", TOMLString(c))
		}
		b.WriteString("]\n")
	}
	number("wish_ms", p.WishMS)
	number("knocks_before", float64(p.KnocksBefore))
	number("knocks_after", float64(p.KnocksAfter))
	b.WriteString("\n[limits]\n")
	for _, f := range p.Limits.named() {
		number(f.name, f.value)
	}
	for _, i := range p.Inputs {
		b.WriteString("\n[[input]]\n")
		text("kind", string(i.Kind))
		text("axis", string(i.Axis))
		number("count", float64(i.Count))
		number("length_s", i.LengthS)
		number("size_percent", i.SizePercent)
		number("size_end_percent", i.SizeEndPercent)
		number("from_rad_s", i.FromRadS)
		number("to_rad_s", i.ToRadS)
	}
	return b.String()
}

// LimitsSet returns the limits that aircraft.toml in dir sets; those that it does not set,
// and which ReadAircraft fills with defaults, are zero. Errors are those of ReadAircraft.
func LimitsSet(dir string) (Limits, error) {
	path := filepath.Join(dir, AircraftFile)
	data, err := os.ReadFile(path)
	if errors.Is(err, os.ErrNotExist) {
		return Limits{}, nil
	}
	if err != nil {
		return Limits{}, err
	}
	a := &Aircraft{}
	if err := decodeSettings(path, data, a); err != nil {
		return Limits{}, err
	}
	return a.Limits, a.check(path, string(data))
}
