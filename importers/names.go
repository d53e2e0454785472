package importers

import (
	"slices"
	"strings"
	"unicode"

	"hopcard/flight"
)

// nameReading is what the name of a column says.
type nameReading struct {
	quantity flight.Quantity // empty if the name is not understood
	unit     flight.Unit     // NoUnit if the name does not say
	unitText string          // the unit as written, if any is
	sure     float64         // that the quantity is right, 0 to 1
	why      string          // what the name means where it is no quantity of ours
}

// readName reads the name of a column, with the unit in it if there is one: `Roll [deg]`,
// `pitch_rad`, `q (deg/s)`, `ax_mps2`, `stick_lon_pct`.
func readName(header string) nameReading {
	base, bracket := cutBracket(header)
	tokens := splitWords(base)
	if len(tokens) == 0 {
		return nameReading{why: "the column has no name"}
	}
	if bracket != "" {
		r := classify(tokens)
		r.unitText = bracket
		if u, ok := fittingUnit(bracket, r.quantity); ok {
			r.unit = u
		}
		return r
	}
	for n := min(3, len(tokens)-1); n > 0; n-- {
		unitText := strings.Join(tokens[len(tokens)-n:], "_")
		r := classify(tokens[:len(tokens)-n])
		if r.quantity == "" {
			continue
		}
		if u, ok := fittingUnit(unitText, r.quantity); ok {
			r.unit, r.unitText = u, unitText
			return r
		}
		if n == 1 && isPlainUnit(unitText) {
			r.unitText = unitText // a unit, but not one of this quantity
			return r
		}
	}
	return classify(tokens)
}

// isPlainUnit reports whether a word at the end of a name can only be a unit.
func isPlainUnit(word string) bool {
	switch word {
	case "deg", "rad", "dps", "mps", "mps2", "kt", "kts", "kmh", "kph", "mph", "pct", "percent", "rpm", "ft":
		return true
	}
	return false
}

// cutBracket splits a unit in brackets off a name. Brackets around a number are an
// index and stay in the name.
func cutBracket(header string) (base, unit string) {
	h := strings.TrimSpace(header)
	for _, pair := range []string{"[]", "()", "{}", "<>"} {
		open := strings.IndexByte(h, pair[0])
		if open <= 0 {
			continue
		}
		shut := strings.IndexByte(h[open:], pair[1])
		if shut < 0 {
			continue
		}
		inside := strings.TrimSpace(h[open+1 : open+shut])
		if inside == "" || strings.Trim(inside, "0123456789") == "" {
			continue
		}
		return h[:open] + " " + h[open+shut+1:], inside
	}
	if i := strings.LastIndex(h, " in "); i > 0 && len(parseUnits(h[i+4:])) > 0 {
		return h[:i], h[i+4:]
	}
	for _, sep := range []string{", ", " / ", ": ", " "} {
		if i := strings.LastIndex(h, sep); i > 0 && strings.ContainsAny(h[i:], "/°%") && len(parseUnits(h[i+len(sep):])) > 0 {
			return h[:i], h[i+len(sep):]
		}
	}
	return h, ""
}

// splitWords cuts a name into lower-case words at anything that is no letter or digit,
// at changes from lower to upper case, and inside joined words that are known.
func splitWords(name string) []string {
	var words []string
	var word []rune
	flush := func() {
		if len(word) > 0 {
			words = append(words, splitKnown(strings.ToLower(string(word)))...)
			word = word[:0]
		}
	}
	runes := []rune(name)
	for i, r := range runes {
		switch {
		case r == '%':
			flush()
			words = append(words, "percent")
			continue
		case !unicode.IsLetter(r) && !unicode.IsDigit(r):
			flush()
			continue
		case unicode.IsUpper(r) && i > 0 && unicode.IsLower(runes[i-1]):
			flush()
		case unicode.IsUpper(r) && i > 0 && unicode.IsUpper(runes[i-1]) && i+1 < len(runes) && unicode.IsLower(runes[i+1]):
			flush()
		}
		word = append(word, r)
	}
	flush()
	return words
}

// splitKnown splits words like rollrate, gyrox, windspeed, stickpitch.
func splitKnown(word string) []string {
	if slices.Contains(wholeWords(), word) {
		return []string{word}
	}
	for _, first := range joinableWords() {
		rest, ok := strings.CutPrefix(word, first)
		if !ok || rest == "" {
			continue
		}
		if slices.Contains(joinedEnds(), rest) {
			return []string{first, rest}
		}
	}
	return []string{word}
}

// wholeWords start like joined words but are not.
func wholeWords() []string {
	return []string{"accel", "pitching", "rolling", "longitude", "latitude", "longitudinal", "lateral"}
}

func joinableWords() []string {
	return []string{
		"roll", "pitch", "yaw", "phi", "theta", "psi", "heading", "gyroscope", "gyro", "gyr", "accelerometer",
		"acceleration", "accel", "acc", "rate", "omega", "stick", "cyclic", "cyc", "adc", "pwm", "servo", "rc", "wind",
		"rotor", "quaternion", "quat", "time", "lateral", "lat", "longitudinal", "lon", "collective", "pedal", "knock",
		"ail", "aileron", "ele", "elevator", "rud", "rudder",
	}
}

func joinedEnds() []string {
	return []string{
		"x", "y", "z", "w", "rate", "angle", "dot", "speed", "spd", "dir", "direction", "rpm", "roll", "pitch", "yaw", "lat",
		"lon", "lateral", "longitudinal", "stick", "collective", "pedal", "ms", "us", "s", "stamp", "acc", "accel", "gyro",
		"north", "east", "n", "e", "g", "deg", "rad", "dps", "pct", "pos", "cyclic", "cyc", "adc", "pwm", "in",
		"0", "1", "2", "3",
	}
}
