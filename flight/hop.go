package flight

import (
	"math"
	"sort"
	"time"
)

// Span is an interval of hop time, FromS included, ToS excluded.
type Span struct {
	FromS, ToS float64
}

// LengthS returns the length of the span in seconds.
func (s Span) LengthS() float64 { return s.ToS - s.FromS }

// Contains reports whether tS lies in the span.
func (s Span) Contains(tS float64) bool { return tS >= s.FromS && tS < s.ToS }

// Overlaps reports whether the two spans share more than a point.
func (s Span) Overlaps(o Span) bool { return s.FromS < o.ToS && o.FromS < s.ToS }

// Without returns what is left of spans when cuts are taken away, in the order of spans. The
// slices given stay as they are.
func Without(spans, cuts []Span) []Span {
	for _, cut := range cuts {
		var left []Span
		for _, s := range spans {
			if !s.Overlaps(cut) {
				left = append(left, s)
				continue
			}
			if cut.FromS > s.FromS {
				left = append(left, Span{FromS: s.FromS, ToS: cut.FromS})
			}
			if cut.ToS < s.ToS {
				left = append(left, Span{FromS: cut.ToS, ToS: s.ToS})
			}
		}
		spans = left
	}
	return spans
}

// Estimate is a measured number with its 95 % interval. Low and High are NaN where no
// interval can be given; a pointer to an Estimate is nil where the number is unknown.
type Estimate struct {
	Value, Low, High float64
}

// HasInterval reports whether the estimate carries an interval.
func (e Estimate) HasInterval() bool { return !math.IsNaN(e.Low) && !math.IsNaN(e.High) }

// Times returns the estimate multiplied by k; a negative k swaps the ends.
func (e Estimate) Times(k float64) Estimate {
	e = Estimate{e.Value * k, e.Low * k, e.High * k}
	if k < 0 {
		e.Low, e.High = e.High, e.Low
	}
	return e
}

// Plain returns an estimate without an interval.
func Plain(value float64) *Estimate {
	return &Estimate{Value: value, Low: math.NaN(), High: math.NaN()}
}

// Role says what a source contributes.
type Role string

// The roles a source can have.
const (
	RoleAttitude Role = "attitude"
	RoleStick    Role = "stick"
	RoleWind     Role = "wind"
	RoleMixed    Role = "mixed"
	RoleNone     Role = ""
)

// Alignment says how a source's clock was put on the hop clock.
type Alignment string

// The ways to align a clock. AlignNone means that the clock could not be aligned:
// nothing may be timed between this source and another.
const (
	AlignSingle Alignment = "single file"
	AlignUTC    Alignment = "utc"
	AlignKnocks Alignment = "knocks"
	AlignShared Alignment = "shared channel"
	AlignUser   Alignment = "user"
	AlignNone   Alignment = "none"
)

// Clock relates a source's stamps to hop time:
// stamp in s = OffsetS + (1 + DriftPPM*1e-6) * hop time.
type Clock struct {
	OffsetS   float64
	DriftPPM  float64
	AlignedBy Alignment
	// Offset and drift with 95 % intervals and the rms residual of the fit, where the
	// alignment method measures them; nil and NaN otherwise.
	Offset    *Estimate
	Drift     *Estimate
	ResidualS float64
	// IntervalS is the half width of the 95 % interval of one stamp's hop time, to be
	// added to every lag timed across this clock and the attitude clock; 0 for the
	// attitude source itself.
	IntervalS float64
}

// HopTimeS converts a raw stamp in seconds to hop time.
func (c Clock) HopTimeS(stampS float64) float64 {
	return (stampS - c.OffsetS) / (1 + c.DriftPPM*1e-6)
}

// Source is one log file.
type Source struct {
	File   string // base name
	Role   Role
	Rows   int     // rows of data read
	RateHz float64 // median sample rate; 0 when there are fewer than two rows
	Clock  Clock
	SHA256 string // of the file's bytes, hex
	// TimeColumns are the columns the stamps were read from, in order of the file.
	TimeColumns []TimeColumn
	// Dress describes how the file is written, in words: delimiter, decimals, time form.
	Dress string
}

// TimeColumn is a column of stamps, and the unit or form they are written in.
type TimeColumn struct {
	Column string
	Unit   Unit
}

// Channel is one recorded quantity on its own time stamps.
type Channel struct {
	Quantity Quantity
	// TimeS holds hop times, strictly ascending; channels of one source may share it.
	TimeS []float64
	// Value holds SI values, one per stamp; NaN where the logger wrote none.
	Value  []float64
	Source int // index into Hop.Sources
	Column string
	// Unit is the unit as written or, if Guessed, as worked out from the data.
	Unit    Unit
	Guessed bool
	// Sign is -1 where the file's sense is opposite to this package's and Value was
	// turned round, otherwise 1.
	Sign int
	// Scale and Zero give Value = Sign*Scale*(written - Zero).
	Scale, Zero float64
	// Sure is how certain quantity, unit and sign are, 0 to 1.
	Sure float64
	// StepSI is the quantisation step of the written values in SI, 0 if unknown.
	StepSI float64
	// Derived is true for channels computed while importing (attitude from
	// quaternions), which no column carries directly.
	Derived bool
	// Withheld says in words for one line why no number may be worked out from the
	// channel; empty for one that can be used.
	Withheld string
}

// Len returns the number of samples.
func (c *Channel) Len() int { return len(c.TimeS) }

// rateSteps bounds how many steps RateHz looks at, so that it costs the same however
// long the record is.
const rateSteps = 1001

// RateHz returns the median sample rate, 0 for fewer than two samples. Of long records
// it looks at steps spread evenly over the whole.
func (c *Channel) RateHz() float64 {
	n := len(c.TimeS) - 1
	if n < 1 {
		return 0
	}
	steps := make([]float64, min(n, rateSteps))
	for k := range steps {
		i := k * n / len(steps)
		steps[k] = c.TimeS[i+1] - c.TimeS[i]
	}
	sort.Float64s(steps)
	if m := steps[len(steps)/2]; m > 0 {
		return 1 / m
	}
	return 0
}

// Span returns the interval the channel covers.
func (c *Channel) Span() Span {
	if len(c.TimeS) == 0 {
		return Span{}
	}
	return Span{c.TimeS[0], c.TimeS[len(c.TimeS)-1]}
}

// Index returns the index of the first sample at or after tS, Len if there is none.
func (c *Channel) Index(tS float64) int { return sort.SearchFloat64s(c.TimeS, tS) }

// Severity says how much a finding matters.
type Severity string

// The severities, mildest first.
const (
	Note    Severity = "note"
	Caution Severity = "caution"
	Stop    Severity = "stop"
)

// Code identifies a kind of finding.
type Code string

// The finding codes.
const (
	CodeGap               Code = "gap"
	CodeRepeat            Code = "repeat"
	CodeBackward          Code = "backward"
	CodeRestart           Code = "restart"
	CodeWrap              Code = "wrap"
	CodeJitter            Code = "jitter"
	CodeStuck             Code = "stuck"
	CodeSpike             Code = "spike"
	CodeSaturated         Code = "saturated"
	CodeNotANumber        Code = "not-a-number"
	CodeTruncated         Code = "truncated"
	CodeChecksum          Code = "checksum"
	CodeVoid              Code = "void"
	CodeCoarse            Code = "coarse"
	CodeAliased           Code = "aliased"
	CodeUnitGuessed       Code = "unit-guessed"
	CodeUnitContradiction Code = "unit-contradiction"
	CodeSign              Code = "sign"
	CodeRateFactor        Code = "rate-factor"
	CodeGravity           Code = "gravity"
	CodeRateBias          Code = "rate-bias"
	CodeLeadsStick        Code = "leads-stick"
	CodeNoClock           Code = "no-clock"
	CodeNoResponse        Code = "no-response"
	CodeLowCoherence      Code = "low-coherence"
	CodeStickStill        Code = "stick-still"
	CodeWindShort         Code = "wind-short"
	CodeModelDisagrees    Code = "model-disagrees"
	// CodeUnrecognised marks a column that no quantity could be given to.
	CodeUnrecognised Code = "unrecognised"
	// CodeMissing marks something the analysis needs that no file holds.
	CodeMissing Code = "missing"
	// CodeStickScale marks a stick whose full travel had to be taken from what was seen.
	CodeStickScale Code = "stick-scale"
	// CodeGainLimited marks a response whose gain bandwidth is below its phase bandwidth, or
	// that has none.
	CodeGainLimited Code = "gain-limited"
	// CodeNotMeasurable marks a number that this data cannot give, and why.
	CodeNotMeasurable Code = "not-measurable"
)

// Finding is something wrong or doubtful, and what to do about it.
type Finding struct {
	Code     Code
	Severity Severity
	File     string // base name, empty if the finding is about the whole hop
	Channel  string // column as written or quantity, empty if about the whole file
	Span     Span   // zero if it concerns the whole record
	Text     string // one sentence with the numbers
	Advice   string // what to do
}

// SegmentKind is a kind of segment.
type SegmentKind string

// The kinds of segment.
const (
	Ground       SegmentKind = "ground"
	SpinUp       SegmentKind = "spin-up"
	ControlCheck SegmentKind = "control-check"
	Knocks       SegmentKind = "knocks"
	LiftOff      SegmentKind = "lift-off"
	Hover        SegmentKind = "hover"
	Doublet      SegmentKind = "doublet"
	Steps        SegmentKind = "steps"
	Sweep        SegmentKind = "sweep"
	Rap          SegmentKind = "rap"
	HandsStill   SegmentKind = "hands-still"
	Landing      SegmentKind = "landing"
	SpinDown     SegmentKind = "spin-down"
)

// Segment is an interval of the hop with one kind. Axis is set for test inputs.
type Segment struct {
	Kind SegmentKind
	Axis Axis
	Span Span
	// BandRadS is the frequency band that holds 90 % of the input's energy, lowest and
	// highest; zero for kinds without an input.
	BandRadS [2]float64
}

// Mark is something the crew noted at a time.
type Mark struct {
	TimeS float64
	Text  string
	File  string // where it was read from; empty if it was set on screen
}

// Hop is one short test flight as it was logged.
type Hop struct {
	Name          string
	Dir           string // folder or file it was read from
	StartedAt     time.Time
	DurationS     float64
	Configuration string // name of the configuration flown, empty if unknown
	Notes         string
	Sources       []Source
	Channels      []Channel
	Findings      []Finding
	Marks         []Mark
	// Exclude lists the intervals that the crew ruled out of the analysis.
	Exclude []Span
	// Plan is what was to be flown, nil if none was written down.
	Plan *Plan
}

// Channel returns the channel of q that the analysis uses: the one with the highest
// certainty, the first of equals, of those that are not withheld. It is nil if the hop has
// none.
func (h *Hop) Channel(q Quantity) *Channel {
	var best *Channel
	for i := range h.Channels {
		c := &h.Channels[i]
		if c.Quantity == q && c.Withheld == "" && (best == nil || c.Sure > best.Sure) {
			best = c
		}
	}
	return best
}

// SourceOf returns the source of c.
func (h *Hop) SourceOf(c *Channel) *Source { return &h.Sources[c.Source] }

// CommonClock reports whether a and b may be timed against each other, and the half
// width in seconds of the 95 % interval of the time between their clocks.
func (h *Hop) CommonClock(a, b *Channel) (halfWidthS float64, ok bool) {
	if a.Source == b.Source {
		return 0, true
	}
	ca, cb := h.Sources[a.Source].Clock, h.Sources[b.Source].Clock
	if ca.AlignedBy == AlignNone || cb.AlignedBy == AlignNone {
		return 0, false
	}
	return math.Hypot(ca.IntervalS, cb.IntervalS), true
}
