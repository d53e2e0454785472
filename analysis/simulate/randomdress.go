package simulate

import (
	"math/rand/v2"
	"slices"
	"strings"

	"hopcard/flight"
)

// RandomDress draws a way to write a hop down: one, two or three files, delimiter,
// decimals, names, order, units and where they are said, time form, stick form, signs and
// rates. Only signs that the physics of the hop can tell are turned: of the sticks, of the
// acceleration along the mast, and of one of attitude and rate, never both. Likewise units
// go unsaid only where the values tell them: those of height and wind are always said.
func RandomDress(rng *rand.Rand) Dress {
	d := drawer{rng: rng, style: rng.IntN(5), letters: rng.IntN(3)}
	attitude := d.file("rec.csv", pick(rng, 50.0, 100, 100, 200))
	attitude.Columns = d.attitudeColumns()
	sticks := d.stickColumns()
	var files []FileDress
	switch rng.IntN(3) {
	case 0: // one logger has it all
		attitude.Columns = append(attitude.Columns, sticks...)
		files = append(files, attitude)
	default:
		attitude.Name = "att.csv"
		s := d.file("stick.csv", pick(rng, 50.0, 50, 100))
		s.Columns = sticks
		if rng.IntN(2) == 0 { // both know UTC
			attitude.Time, s.Time = d.utc(), d.utc()
			attitude.ClockOffsetS, attitude.ClockPPM, s.ClockOffsetS, s.ClockPPM = 0, 0, 0, 0
			s.FromS = 0.3 + rng.Float64()
		} else {
			attitude.Time, s.Time = d.boot(), d.boot() // nothing but knocks ties them
			attitude.ClockOffsetS, s.ClockOffsetS = 200*rng.Float64(), 200*rng.Float64()
			s.ClockPPM = 160*rng.Float64() - 80
			s.Columns = append(s.Columns, ColumnDress{
				Name: d.letter("knock") + "_g", UnitText: "g", Quantity: flight.Knock, Unit: flight.G, Decimals: 3})
		}
		files = append(files, attitude, s)
	}
	if rng.IntN(3) == 0 {
		files = append(files, d.windFile(files[0]))
	}
	for k := range files {
		d.shuffle(files[k].Columns)
		files[k].UnitsRow = files[k].UnitsRow && slices.ContainsFunc(files[k].Columns,
			func(c ColumnDress) bool { return c.UnitText != "" })
	}
	return Dress{Files: files}
}

func pick[T any](rng *rand.Rand, of ...T) T { return of[rng.IntN(len(of))] }

// Ways to say the unit of a column.
const (
	inBrackets = iota // Roll [deg]
	inParens          // roll (deg)
	asSuffix          // roll_deg
	inUnitsRow
	unsaid
)

type drawer struct {
	rng     *rand.Rand
	style   int
	letters int // lower, Title, UPPER
}

func (d *drawer) shuffle(c []ColumnDress) {
	d.rng.Shuffle(len(c), func(i, j int) { c[i], c[j] = c[j], c[i] })
}

func (d *drawer) file(name string, rateHz float64) FileDress {
	rng := d.rng
	f := FileDress{Name: name, RateHz: rateHz, UnitsRow: d.style == inUnitsRow}
	f.Delimiter = pick(rng, byte(','), byte(','), byte(';'), byte('\t'), byte(' '))
	f.DecimalComma = f.Delimiter == ';' && rng.IntN(2) == 0
	f.CRLF, f.BOM = rng.IntN(3) == 0, rng.IntN(6) == 0
	f.QuoteHeader = f.Delimiter == ' ' || rng.IntN(6) == 0
	f.Truncated = rng.IntN(8) == 0
	if rng.IntN(4) == 0 {
		f.Comments = []string{pick(rng, "# ", "// ") + "logger on the seat frame", pick(rng, "# ", "// ") + "rate as set"}
		f.Comments[1] = f.Comments[0][:2] + strings.TrimLeft(f.Comments[1], "#/ ")
	}
	f.Time = d.counter()
	if !f.Time.wall() {
		f.ClockOffsetS = 200 * rng.Float64()
	}
	return f
}

// boot draws a form of stamp that counts from the logger's start.
func (d *drawer) boot() TimeDress {
	for {
		if t := d.counter(); !t.wall() {
			return t
		}
	}
}

// counter draws a form of stamp; its decimals resolve a millisecond.
func (d *drawer) counter() TimeDress {
	t := TimeDress{Name: d.letter(pick(d.rng, "time", "t", "timestamp"))}
	switch d.rng.IntN(8) {
	case 0:
		t.Form, t.Name, t.UnitText = Milliseconds, t.Name+"_ms", "ms"
	case 1:
		t.Form, t.Name, t.UnitText = Microseconds, t.Name+"_us", "us"
	case 2:
		t.Form, t.Decimals = EpochSeconds, 3
	case 3:
		return d.utc()
	case 4:
		t.Form, t.Name, t.Decimals = DayTime, d.letter("time"), 3
	default:
		t.Form, t.Name, t.UnitText, t.Decimals = Seconds, t.Name+"_s", "s", 4
	}
	return t
}

func (d *drawer) utc() TimeDress {
	return TimeDress{Name: d.letter("utc"), Form: pick(d.rng, ISO, ISO, ISOBlank, DateAndTime), Decimals: 3}
}

func (d *drawer) letter(name string) string {
	switch d.letters {
	case 1:
		return strings.ToUpper(name[:1]) + name[1:]
	case 2:
		return strings.ToUpper(name)
	}
	return name
}

// column names a column and says its unit in the style of this draw.
func (d *drawer) column(q flight.Quantity, u flight.Unit, names ...string) ColumnDress {
	c := ColumnDress{Quantity: q, Unit: u, Sign: 1, Name: d.letter(pick(d.rng, names...))}
	text, suffix, decimals := unitWords(u)
	c.Decimals, c.UnitText = decimals, text
	if text == "" {
		return c
	}
	style := d.style
	if style == unsaid && (q == flight.Height || q == flight.WindSpeed) {
		style = inBrackets
	}
	switch style {
	case inBrackets:
		c.Name += " [" + text + "]"
	case inParens:
		c.Name += " (" + text + ")"
	case asSuffix:
		c.Name += "_" + suffix
	}
	return c
}

// unitWords is how loggers write a unit, alone and at the end of a name, and the decimals
// that keep the sensor's resolution.
func unitWords(u flight.Unit) (text, suffix string, decimals int) {
	switch u {
	case flight.Deg:
		return "deg", "deg", 2
	case flight.Rad:
		return "rad", "rad", 5
	case flight.DegPerS:
		return "deg/s", "dps", 2
	case flight.RadPerS:
		return "rad/s", "rad_s", 4
	case flight.MPerS2:
		return "m/s2", "mps2", 2
	case flight.G:
		return "g", "g", 3
	case flight.Percent:
		return "%", "pct", 2
	case flight.PulseUs:
		return "us", "us", 0
	case flight.Counts:
		return "counts", "raw", 0
	case flight.Metre:
		return "m", "m", 2
	case flight.Foot:
		return "ft", "ft", 1
	case flight.RPM:
		return "rpm", "rpm", 0
	case flight.MPerS:
		return "m/s", "mps", 2
	case flight.Knot:
		return "kt", "kt", 2
	case flight.KmPerH:
		return "km/h", "kmh", 1
	}
	return "", "", 4
}

func (d *drawer) attitudeColumns() []ColumnDress {
	rng := d.rng
	angle, rate := pick(rng, flight.Deg, flight.Deg, flight.Rad), pick(rng, flight.DegPerS, flight.DegPerS, flight.RadPerS)
	accel := pick(rng, flight.MPerS2, flight.MPerS2, flight.G)
	c := []ColumnDress{
		d.column(flight.Roll, angle, "roll", "phi", "roll_angle", "bank"),
		d.column(flight.Pitch, angle, "pitch", "theta", "pitch_angle"),
		d.column(flight.Heading, angle, "yaw", "heading", "psi"),
	}
	names := [][]string{{"p", "q", "r"}, {"gyro_x", "gyro_y", "gyro_z"}, {"roll_rate", "pitch_rate", "yaw_rate"}}[rng.IntN(3)]
	for k, q := range []flight.Quantity{flight.RollRate, flight.PitchRate, flight.YawRate} {
		c = append(c, d.column(q, rate, names[k]))
	}
	names = [][]string{{"ax", "ay", "az"}, {"acc_x", "acc_y", "acc_z"}, {"accel_x", "accel_y", "accel_z"}}[rng.IntN(3)]
	for k, q := range []flight.Quantity{flight.AccelX, flight.AccelY, flight.AccelZ} {
		c = append(c, d.column(q, accel, names[k]))
	}
	if rng.IntN(2) == 0 {
		c[8].Sign = -1 // acceleration of gravity up
	}
	switch rng.IntN(12) {
	case 0:
		c[1].Sign = -1 // pitch nose down
	case 1:
		c[0].Sign = -1 // roll left wing down
	}
	if rng.IntN(2) == 0 {
		c = append(c, d.column(flight.Height, pick(rng, flight.Metre, flight.Foot), "height", "agl"))
	}
	if rng.IntN(2) == 0 {
		c = append(c, d.column(flight.RotorSpeed, flight.RPM, "rotor", "rotor_speed", "nr"))
	}
	return c
}

func (d *drawer) stickColumns() []ColumnDress {
	rng := d.rng
	unit := pick(rng, flight.Percent, flight.Percent, flight.UnitTravel, flight.PulseUs, flight.Counts)
	set := [][2]string{
		{"stick_lon", "stick_lat"}, {"elevator", "aileron"}, {"lon_cyclic", "lat_cyclic"},
		{"stick_pitch", "stick_roll"}, {"pitch_stick", "roll_stick"},
	}[rng.IntN(5)]
	c := []ColumnDress{d.column(flight.LonStick, unit, set[0]), d.column(flight.LatStick, unit, set[1])}
	if rng.IntN(2) == 0 {
		c = append(c, d.column(flight.Collective, unit, "collective"))
	}
	if rng.IntN(3) == 0 {
		c = append(c, d.column(flight.Pedal, unit, "pedal", "rudder"))
	}
	for k := range c {
		switch unit {
		case flight.PulseUs:
			c[k].Neutral, c[k].FullThrow = 1500+float64(rng.IntN(31)-15), 400
		case flight.Counts:
			c[k].Neutral, c[k].FullThrow = 512+float64(rng.IntN(41)-20), 450
		}
	}
	if rng.IntN(4) == 0 {
		c[0].Sign = -1 // forward positive
	}
	if rng.IntN(6) == 0 {
		c[1].Sign = -1 // left positive
	}
	return c
}

// windFile stamps the wind as the first file is, or in UTC if that does.
func (d *drawer) windFile(first FileDress) FileDress {
	f := d.file("wind.csv", pick(d.rng, 1.0, 4, 10))
	f.Time, f.ClockOffsetS, f.ClockPPM = first.Time, first.ClockOffsetS, first.ClockPPM
	speed := pick(d.rng, flight.MPerS, flight.Knot, flight.KmPerH)
	f.Columns = []ColumnDress{
		d.column(flight.WindSpeed, speed, "wind_speed", "wind"),
		d.column(flight.WindDirectionFrom, flight.Deg, "wind_dir", "wind_direction"),
	}
	return f
}
