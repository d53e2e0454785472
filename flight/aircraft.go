package flight

import "time"

// AircraftFile and HopFile are the names of the settings files.
const (
	AircraftFile = "aircraft.toml"
	HopFile      = "hop.toml"
)

// SettingsFormat is the format number both settings files carry.
const SettingsFormat = 1

// Aircraft is what aircraft.toml says: the machine, its configurations and limits.
// The zero value with DefaultLimits and DefaultWindClass stands for a folder without one.
type Aircraft struct {
	Format int    `toml:"format"`
	Name   string `toml:"name"`
	Field  string `toml:"field"`
	// RotorTurns is "counter-clockwise" or "clockwise", seen from above; empty if unknown.
	RotorTurns     string          `toml:"rotor_turns"`
	Limits         Limits          `toml:"limits"`
	WindClass      WindClass       `toml:"wind_class"`
	Anemometer     Anemometer      `toml:"anemometer"`
	Configurations []Configuration `toml:"configuration"`
}

// Configuration returns the configuration of that name, nil if there is none.
func (a *Aircraft) Configuration(name string) *Configuration {
	for i := range a.Configurations {
		if a.Configurations[i].Name == name {
			return &a.Configurations[i]
		}
	}
	return nil
}

// Limits are what a hop must stay inside. Zero means: not set, use the default.
type Limits struct {
	AttitudeDeg        float64 `toml:"attitude_deg"`         // roll and pitch, from level
	RateDegS           float64 `toml:"rate_deg_s"`           // roll and pitch
	WindMeanMS         float64 `toml:"wind_mean_m_s"`        // mean over the flight
	GustSpreadMS       float64 `toml:"gust_spread_m_s"`      // 3 s gust less 3 s lull
	ControlLeftPercent float64 `toml:"control_left_percent"` // of full travel, to the nearer stop
	DampingRatio       float64 `toml:"damping_ratio"`        // least of any mode seen
	PhaseMarginDeg     float64 `toml:"phase_margin_deg"`
	GainMarginDB       float64 `toml:"gain_margin_db"`
}

// DefaultLimits are used where aircraft.toml sets none. Attitude, rate, wind and gust
// limits are this project's own choice for short hops over a field, chosen low. Ten
// percent of control left is the margin of MIL-H-8501A (1961), 3.2.1 and 3.3.4, there
// in terms of moment (from memory); 45 deg and 6 dB are the yardstick of MIL-F-9490D
// (1975), 3.1.3.6.1, written for fixed-wing flight control systems.
func DefaultLimits() Limits {
	return Limits{
		AttitudeDeg: 15, RateDegS: 60, WindMeanMS: 5, GustSpreadMS: 4,
		ControlLeftPercent: 10, DampingRatio: 0, PhaseMarginDeg: 45, GainMarginDB: 6,
	}
}

// OrDefault fills what is not set from DefaultLimits.
func (l Limits) OrDefault() Limits {
	d := DefaultLimits()
	for _, f := range []struct {
		value *float64
		def   float64
	}{
		{&l.AttitudeDeg, d.AttitudeDeg}, {&l.RateDegS, d.RateDegS},
		{&l.WindMeanMS, d.WindMeanMS}, {&l.GustSpreadMS, d.GustSpreadMS},
		{&l.ControlLeftPercent, d.ControlLeftPercent}, {&l.DampingRatio, d.DampingRatio},
		{&l.PhaseMarginDeg, d.PhaseMarginDeg}, {&l.GainMarginDB, d.GainMarginDB},
	} {
		if *f.value == 0 {
			*f.value = f.def
		}
	}
	return l
}

// WindClass holds the thresholds between calm, steady and gusty air. Zero means: not
// set, use the default.
type WindClass struct {
	// CalmMeanMS: below this mean, and not gusty, the air is calm.
	CalmMeanMS float64 `toml:"calm_mean_m_s"`
	// GustySpreadMS: from this gust spread (3 s gust less 3 s lull) on the air is gusty.
	GustySpreadMS float64 `toml:"gusty_spread_m_s"`
}

// Anemometer is the instrument beside the field. Zero fields are unknown.
type Anemometer struct {
	// DistanceConstantM is the length of wind in which it follows a change to 63 %, as
	// its maker gives it: 2 to 5 m for usual cups and vanes (WMO-No. 8, part I, 5.2).
	DistanceConstantM float64 `toml:"distance_constant_m"`
}

// DefaultWindClass: a mean below 2 m/s is felt on the face at most (Beaufort 2 starts at
// 1.6 m/s); a spread of 3 m/s is this project's own choice, well below the 10 kt
// (5.1 m/s) between peaks and lulls at which weather reports first mention gusts.
func DefaultWindClass() WindClass { return WindClass{CalmMeanMS: 2, GustySpreadMS: 3} }

// OrDefault fills what is not set from DefaultWindClass.
func (w WindClass) OrDefault() WindClass {
	d := DefaultWindClass()
	if w.CalmMeanMS == 0 {
		w.CalmMeanMS = d.CalmMeanMS
	}
	if w.GustySpreadMS == 0 {
		w.GustySpreadMS = d.GustySpreadMS
	}
	return w
}

// Configuration is one state of the rotor head and airframe. Zero fields are unknown.
type Configuration struct {
	Name string `toml:"name"`
	Note string `toml:"note"`

	RotorSpeedRPM   float64 `toml:"rotor_speed_rpm"`
	MassKg          float64 `toml:"mass_kg"`
	HubHeightM      float64 `toml:"hub_height_m"` // hub above the centre of gravity
	RollInertiaKgM2 float64 `toml:"roll_inertia_kg_m2"`
	PitchInertKgM2  float64 `toml:"pitch_inertia_kg_m2"`

	RotorRadiusM   float64 `toml:"rotor_radius_m"`
	BladeChordM    float64 `toml:"blade_chord_m"`
	LiftSlope      float64 `toml:"lift_slope_per_rad"`
	FlapInertiaKg  float64 `toml:"flap_inertia_kg_m2"` // of one blade about its flap hinge
	HingeOffset    float64 `toml:"hinge_offset"`       // as a fraction of the radius
	Delta3Deg      float64 `toml:"delta3_deg"`         // flap up takes pitch off: positive
	AdvanceDeg     float64 `toml:"advance_angle_deg"`  // swashplate input ahead of the blade
	CyclicThrowDeg float64 `toml:"cyclic_throw_deg"`   // blade pitch at full stick

	Bar *Bar `toml:"bar"`
}

// Bar is a stabiliser bar with paddles. Zero fields are unknown.
type Bar struct {
	WeightKg     float64 `toml:"weight_kg"`   // each tip weight
	WeightAtM    float64 `toml:"weight_at_m"` // its radius
	InertiaKgM2  float64 `toml:"inertia_kg_m2"`
	PaddleChordM float64 `toml:"paddle_chord_m"`
	PaddleFromM  float64 `toml:"paddle_from_m"` // inner radius of the paddle
	PaddleToM    float64 `toml:"paddle_to_m"`   // outer radius
	// Mixing of bar tilt into blade pitch, of the stick into blade pitch and of the
	// stick into paddle pitch.
	BarToBlade     float64 `toml:"bar_to_blade"`
	StickToBlade   float64 `toml:"stick_to_blade"`
	StickToPaddle  float64 `toml:"stick_to_paddle"`
	FollowingTimeS float64 `toml:"following_time_s"` // if measured on the bench
}

// HopSettings is what hop.toml says about one hop. Every field overrules what hopcard
// would decide by itself.
type HopSettings struct {
	Format        int            `toml:"format"`
	Configuration string         `toml:"configuration"`
	StartedAt     time.Time      `toml:"started_at"`
	Notes         string         `toml:"notes"`
	Exclude       []ExcludeSpan  `toml:"exclude"`
	Files         []FileSettings `toml:"file"`
	Marks         []MarkSettings `toml:"mark"`
}

// File returns the settings of the file of that base name, nil if there are none.
func (s *HopSettings) File(name string) *FileSettings {
	if s == nil {
		return nil
	}
	for i := range s.Files {
		if s.Files[i].Name == name {
			return &s.Files[i]
		}
	}
	return nil
}

// ExcludeSpan is an interval of hop time that the analysis must not use.
type ExcludeSpan struct {
	FromS float64 `toml:"from_s"`
	ToS   float64 `toml:"to_s"`
	Why   string  `toml:"why"`
}

// FileSettings overrules what was decided about one file.
type FileSettings struct {
	Name string `toml:"name"`
	Skip bool   `toml:"skip"` // leave the file out
	// Header names the columns of a log that has no header row.
	Header        []string `toml:"header"`
	ClockOffsetS  *float64 `toml:"clock_offset_s"`
	ClockDriftPPM *float64 `toml:"clock_drift_ppm"`
	// ClockIntervalS is the half width of the 95 % interval of a stamp's hop time under
	// that offset and drift, above 0. Where an offset stands without it the importer
	// assumes one and says which.
	ClockIntervalS *float64 `toml:"clock_interval_s"`
	// ClockOffsetStepS is one unit of the last digit that clock_offset_s is written with:
	// 0.01 for 1.50. It is 0 where the settings were not read from a file.
	ClockOffsetStepS float64          `toml:"-"`
	Columns          []ColumnSettings `toml:"column"`
}

// Column returns the settings of the column of that name, nil if there are none.
func (f *FileSettings) Column(name string) *ColumnSettings {
	if f == nil {
		return nil
	}
	for i := range f.Columns {
		if f.Columns[i].Name == name {
			return &f.Columns[i]
		}
	}
	return nil
}

// ColumnSettings overrules what was decided about one column. Neutral and FullThrow
// are in written units: the value at neutral, and the change from there to the stop.
type ColumnSettings struct {
	Name      string   `toml:"name"`
	Skip      bool     `toml:"skip"`
	Quantity  Quantity `toml:"quantity"`
	Unit      Unit     `toml:"unit"`
	Sign      int      `toml:"sign"`
	Neutral   *float64 `toml:"neutral"`
	FullThrow *float64 `toml:"full_throw"`
}

// MarkSettings is an event mark set by hand.
type MarkSettings struct {
	TimeS float64 `toml:"time_s"`
	Text  string  `toml:"text"`
}
