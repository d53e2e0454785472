package importers

import (
	"fmt"
	"math"
	"strings"

	"hopcard/flight"
)

// axisSigns are the columns whose signs hang together in one axis, and what the data
// say about each pair of them.
type axisSigns struct {
	axis                      flight.Axis
	angle, rate, accel, stick *column
	owner                     [4]*logFile
	// Evidence that the product of two signs is +1 (positive) or -1.
	angleRate, angleAccel, stickRate evidence
	upright                          bool // the vertical acceleration counts as here
}

// evidence is what the data say about the senses of two columns: in nats, positive where
// they fit together as the usual ones do, 0 where nothing can be said.
type evidence struct {
	nats float64
	said string
}

// The places of the columns of an axis in its cases.
const (
	angleAt = iota
	rateAt
	accelAt
	stickAt
)

// settleSigns checks the sense of each column against physics: rate is the derivative
// of attitude, gravity shows tilt, and the aircraft goes where the stick points at
// first. A column is turned round only with a finding that says why and how sure it is.
func settleSigns(files []*logFile, lead int) {
	for _, f := range files {
		f.verticalSign()
		f.fixGuessedUnits()
	}
	for _, axis := range []flight.Axis{flight.RollAxis, flight.PitchAxis, flight.YawAxis} {
		a := gather(files, lead, axis)
		a.weigh(files)
		a.decide()
	}
	for _, f := range files {
		f.rateFactors()
		f.restChecks()
		f.answerChecks()
	}
}

// verticalSign: specific force at rest, upright, points up, which is -z here.
func (f *logFile) verticalSign() {
	z := f.find(flight.AccelZ)
	if z == nil || z.userSign() {
		return
	}
	m := z.figures.median * z.scale
	if m > 0.5*flight.StandardGravity && m < 1.5*flight.StandardGravity {
		z.sign = -1
		f.add(flight.CodeSign, flight.Note, z.header, flight.Span{},
			fmt.Sprintf("%q reads %+.2f g upright, so up is positive in the file; turned round, 98 %% sure", z.header, m/flight.StandardGravity),
			"set sign in hop.toml if the sensor hangs upside down")
	}
}

// userSign applies the sign that hop.toml gives.
func (c *column) userSign() bool {
	if c.user == nil || c.user.Sign == 0 {
		return false
	}
	c.sign = c.user.Sign
	return true
}

// gather picks the columns of an axis: attitude, rate and acceleration of the leading
// log, the stick wherever it can be timed against it.
func gather(files []*logFile, lead int, axis flight.Axis) *axisSigns {
	l := files[lead]
	a := &axisSigns{axis: axis, angle: l.find(axis.Attitude()), rate: l.find(axis.Rate())}
	switch axis {
	case flight.RollAxis:
		a.accel = l.find(flight.AccelY)
	case flight.PitchAxis:
		a.accel = l.find(flight.AccelX)
	}
	for _, f := range files {
		if c := f.find(axis.Stick()); c != nil && a.stick == nil {
			a.stick, a.owner[3] = c, f
		}
	}
	a.owner[0], a.owner[1], a.owner[2] = l, l, l
	if z := l.find(flight.AccelZ); z != nil {
		a.upright = z.sign > 0
	}
	return a
}

// weigh turns the data into evidence.
func (a *axisSigns) weigh(files []*logFile) {
	l := a.owner[0]
	if a.angle != nil && a.rate != nil {
		k, ok := l.plainSlope(a.axis)
		if ok && (k.Low > 0.2 || k.High < -0.2) {
			a.angleRate = evidence{math.Copysign(12, k.Value),
				fmt.Sprintf("d(%s)/dt is %+.2f times %s", a.angle.header, k.Value, a.rate.header)}
		}
	}
	if a.angle != nil && a.accel != nil {
		a.weighGravity(l.atRest())
	}
	if a.stick != nil {
		defer a.unchecked()
	}
	if a.stick != nil && a.rate != nil && (a.owner[3] == l || a.owner[3].clock.AlignedBy != flight.AlignNone) {
		rho, t := stickAnswer(a.owner[3], a.stick, l, a.rate)
		if math.Abs(t) > 4 && math.Abs(rho) > 0.1 {
			a.stickRate = evidence{math.Copysign(math.Min(8, math.Abs(t)), rho),
				fmt.Sprintf("%s answers %s with correlation %+.2f", a.rate.header, a.stick.header, rho)}
		}
	}
}

// unchecked notes a stick whose sense nothing in the data confirms.
func (a *axisSigns) unchecked() {
	if a.stickRate.nats != 0 || a.stick.user != nil && a.stick.user.Sign != 0 {
		return
	}
	a.stick.sure *= 0.8
	a.owner[3].add(flight.CodeSign, flight.Note, a.stick.header, flight.Span{},
		fmt.Sprintf("the sense of %q (%s) could not be checked: nothing that can be timed against it answers it clearly; it is taken as usual",
			a.stick.header, a.stick.quantity), "set sign in hop.toml if it runs the other way")
}

// weighGravity compares the tilt that the accelerometer shows at rest with the attitude.
// Specific force at rest is g sin(pitch) in x and -g cos(pitch) sin(roll) in y.
func (a *axisSigns) weighGravity(rest []flight.Span) {
	l := a.owner[0]
	angle, accel := l.meanOver(a.angle, rest), l.meanOver(a.accel, rest)
	tilt := accel / flight.StandardGravity
	if a.axis == flight.RollAxis {
		tilt = -tilt
	}
	// Below half a degree an accelerometer's own bias may decide.
	const least = 0.5 * math.Pi / 180
	if len(rest) < 2 || !(math.Abs(angle) > least) || !(math.Abs(tilt) > least) || math.Abs(tilt) > 2*math.Abs(angle)+least {
		return
	}
	a.angleAccel = evidence{math.Copysign(math.Min(5, 2*math.Abs(angle)/least), angle*tilt),
		fmt.Sprintf("at rest %s shows %+.1f deg of tilt where %s reads %+.1f deg",
			a.accel.header, tilt*180/math.Pi, a.angle.header, angle*180/math.Pi)}
}

// decide picks the signs that fit the evidence best, counting how unusual each turned
// sense is: pushing the stick forward counts up in many transmitters, nose-down pitch is
// rarer, a gyro axis against its own attitude rarer still (a box turned round turns two). The costs, in nats, are this
// project's own judgement.
func (a *axisSigns) decide() {
	cols := [4]*column{a.angle, a.rate, a.accel, a.stick}
	scores, best := [16]float64{}, 0
	for m := range scores {
		score, ok := a.score(m, cols)
		if !ok {
			score = math.Inf(-1)
		}
		if scores[m] = score; score > scores[best] {
			best = m
		}
	}
	for i, c := range cols {
		if c == nil || c.userSign() {
			continue
		}
		rival := math.Inf(-1) // the best case in which the column runs the other way
		for m, score := range scores {
			if (m^best)>>i&1 == 1 {
				rival = math.Max(rival, score)
			}
		}
		a.settle(i, c, best>>i&1 == 1, 1/(1+math.Exp(rival-scores[best])))
	}
}

// settle gives column i its sense and says so where it is not the usual one, or may not
// be. Where all that is known of a column fits the usual sense, or nothing is known, how
// unusual the other would be is no reason to doubt it.
func (a *axisSigns) settle(i int, c *column, turned bool, sure float64) {
	said, against := a.about(i)
	switch {
	case turned:
		c.sign = -1
		c.sure *= sure
		sev := flight.Note
		if sure < 0.9 {
			sev = flight.Caution
		}
		a.owner[i].add(flight.CodeSign, sev, c.header, flight.Span{},
			fmt.Sprintf("%q (%s) runs opposite to the usual sense (%s); turned round, %.0f %% sure", c.header, c.quantity, said, 100*sure),
			"set sign in hop.toml if this is wrong")
	case against && sure < 0.95:
		c.sure *= sure
		a.owner[i].add(flight.CodeSign, flight.Caution, c.header, flight.Span{},
			fmt.Sprintf("%q (%s) may run opposite to the usual sense (%s); taken as usual, %.0f %% sure", c.header, c.quantity, said, 100*sure),
			"set sign in hop.toml if it runs the other way")
	}
}

// about returns what was found about the sense of column i, by itself and through the
// columns that it hangs together with, and whether any of it speaks against the usual
// senses.
func (a *axisSigns) about(i int) (said string, against bool) {
	links := []struct {
		from, to int
		found    evidence
	}{{angleAt, rateAt, a.angleRate}, {angleAt, accelAt, a.angleAccel}, {stickAt, rateAt, a.stickRate}}
	tied := 1 << i
	for range links { // a chain reaches its end in as many steps as it has links
		for _, l := range links {
			if ends := 1<<l.from | 1<<l.to; l.found.nats != 0 && tied&ends != 0 {
				tied |= ends
			}
		}
	}
	var words []string
	for _, l := range links {
		if l.found.nats != 0 && tied>>l.from&1 == 1 {
			words = append(words, l.found.said)
			against = against || l.found.nats < 0
		}
	}
	return strings.Join(words, "; "), against
}

// score rates one assignment: bit i of m set means that column i is turned round.
func (a *axisSigns) score(m int, cols [4]*column) (float64, bool) {
	cost := [4]float64{3.2, 4.5, 2.5, 3}
	switch a.axis {
	case flight.PitchAxis:
		cost[0], cost[3] = 2.4, 0.8
	case flight.YawAxis:
		cost[3] = 1
	}
	if a.upright {
		cost[2] = 3.6 // an accelerometer that counts like ours in z will do so in x and y
	}
	var s [4]float64
	score := 0.0
	for i, c := range cols {
		s[i] = 1
		if m>>i&1 == 1 {
			if c == nil {
				return 0, false
			}
			s[i] = -1
			score -= cost[i]
		}
		if c != nil && c.user != nil && c.user.Sign != 0 && float64(c.user.Sign) != s[i] {
			return 0, false
		}
	}
	if s[0] < 0 && s[1] < 0 {
		score += 3.3 // attitude and rate of one box share its axes
	}
	return score + s[angleAt]*s[rateAt]*a.angleRate.nats + s[angleAt]*s[accelAt]*a.angleAccel.nats + s[stickAt]*s[rateAt]*a.stickRate.nats, true
}

// stickAnswer correlates moves of the stick over a short time with the change of rate
// from just before to just after: what the pilot does in answer to the aircraft comes
// later and does not count. While the aircraft stands still the stick moves nothing, and
// the large moves of a control check would drown the small ones of flight. t is the
// correlation over its standard error, for as many moves as do not overlap.
func stickAnswer(fs *logFile, stick *column, fr *logFile, rate *column) (rho, t float64) {
	const move, before, after = 0.25, 0.1, 0.4 // s
	u, was := fs.sampler(stick), fs.sampler(stick)
	later, earlier := fr.sampler(rate), fr.sampler(rate)
	from := math.Max(fs.clock.HopTimeS(fs.stamps[0]), fr.clock.HopTimeS(fr.stamps[0])) + move
	to := math.Min(fs.clock.HopTimeS(fs.stamps[len(fs.stamps)-1]), fr.clock.HopTimeS(fr.stamps[len(fr.stamps)-1])) - after
	rest, k := fr.atRest(), 0
	var sxx, syy, sxy float64
	n := 0
	for at := from; at < to; at += move / 2 {
		for k < len(rest) && fr.clock.HopTimeS(rest[k].ToS) < at-move {
			k++
		}
		if k < len(rest) && fr.clock.HopTimeS(rest[k].FromS) < at+after {
			continue
		}
		x := u.at(at) - was.at(at-move)
		y := later.at(at+after) - earlier.at(at-before)
		if x != x || y != y {
			continue
		}
		sxx, syy, sxy, n = sxx+x*x, syy+y*y, sxy+x*y, n+1
	}
	if n < 40 || sxx == 0 || syy == 0 {
		return 0, 0
	}
	rho = sxy / math.Sqrt(sxx*syy)
	return rho, rho * math.Sqrt(float64(n)/4) / math.Sqrt(math.Max(1e-9, 1-rho*rho))
}

// sampler reads a column at hop times, straight between samples and not across gaps.
type sampler struct {
	f   *logFile
	col *column
	i   int
}

func (f *logFile) sampler(c *column) sampler { return sampler{f: f, col: c} }

func (s *sampler) at(tS float64) float64 {
	stamp := s.f.clock.OffsetS + (1+s.f.clock.DriftPPM*1e-6)*tS
	stamps := s.f.stamps
	if s.f.stepS > 0 { // near the right place at once, where rows are even
		ahead := (stamp - stamps[s.i]) / s.f.stepS
		s.i += int(math.Max(float64(-s.i), math.Min(float64(len(stamps)-1-s.i), ahead)))
	}
	for s.i > 0 && stamps[s.i] > stamp {
		s.i--
	}
	for s.i+1 < len(stamps) && stamps[s.i+1] <= stamp {
		s.i++
	}
	if s.i+1 >= len(stamps) || stamps[s.i] > stamp || stamps[s.i+1]-stamps[s.i] > 0.2 {
		return nan
	}
	f := (stamp - stamps[s.i]) / (stamps[s.i+1] - stamps[s.i])
	return s.col.si(s.i)*(1-f) + s.col.si(s.i+1)*f
}
