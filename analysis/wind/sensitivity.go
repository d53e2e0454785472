package wind

import (
	"cmp"
	"context"
	"errors"
	"math"

	"github.com/sourcegraph/conc"

	"hopcard/analysis/spectrum"
	"hopcard/flight"
)

const (
	answerStepS = 0.1
	// Spectra are of means: 5 Hz is enough up to 6 rad/s, and a third of that for the lowest
	// band alone, onto which means fold nothing, because what would fold there is what a
	// mean over their step takes off.
	fewMeans, manyMeans = 2, 6
	// longWindowS resolves the lowest band, shortWindowS leaves more averages above.
	longWindowS  = 60.0
	shortWindowS = 30.0
	// slowestAnswerS is the longest step of wind readings from which the answer with the
	// stick held is solved: gusts faster than half the rate fold down and pass for slow
	// ones that the aircraft did not answer.
	slowestAnswerS = 0.34
	// slowCupM is the distance constant of a slow but usual cup.
	slowCupM = 4.0
	// nearS is the lead up to which the anemometer counts as standing at the aircraft.
	nearS = 0.6
	// leastCoherence, of the gust with what the sticks leave of the attitude, below
	// which a band is withheld.
	leastCoherence = 0.2
)

// bands returns the frequency bands in rad/s in which answers to gusts are given.
func bandsRadS() [][2]float64 {
	return [][2]float64{{0.3, 0.6}, {0.6, 1.2}, {1.2, 2.4}, {2.4, 4.8}}
}

// The channels of an answer record.
const (
	lonStick = iota
	latStick
	headGust
	crossGust
	pitchOut
	rollOut
	answerChannels
)

// answers holds everything the answer to gusts is worked out from, on one grid.
type answers struct {
	g     grid
	x     [answerChannels][]float64
	flow  flow
	mean  [2][]float64 // part of the gusts that the mean wind makes as the nose turns
	windS float64      // step of the wind readings
	lagS  float64      // of the anemometer, 0 if unknown
	// meanMS is the mean wind, 0 in air too light to carry gusts past.
	meanMS float64
	// far is true where the anemometer felt the gusts well before or after the aircraft.
	far   bool
	stick bool // both sticks were logged on a clock that can be timed
	floor floor
	cupM  float64 // the largest distance constant it may have, if lagS is unknown
	// What sheets returns, nil until it is worked out.
	ready     []sheet
	readySums []products
}

// gather puts gusts against the nose, sticks and attitudes on one grid over span. ok is
// false, with the reason, if something they need is not there.
func gather(h *flight.Hop, th thinned, span flight.Span, around surroundings) (a answers, why string) {
	s := th.cells
	if th.fromNorth == nil {
		return a, "wind direction was not logged"
	}
	if around.heading == nil {
		return a, "heading was not logged on a clock common with the wind"
	}
	if s.stepS > slowestMeanS {
		return a, "wind was logged too slowly"
	}
	a.g = newGrid(span, answerStepS)
	a.windS = s.stepS
	if mean, _ := meanSD(s.speed); mean > 0.5 {
		a.lagS, a.meanMS = around.set.DistanceConstantM/mean, mean
	}
	heading := around.heading()
	head, cross := make([]float64, len(s.t)), make([]float64, len(s.t))
	for i, t := range s.t {
		head[i], cross[i] = th.against(i, heading(t))
	}
	evenHead, evenCross := even(s.t, head, s.stepS), even(s.t, cross, s.stepS)
	a.floor = findFloor(evenHead, evenCross)
	if a.meanMS > 0 && a.lagS == 0 {
		a.cupM = slowestCupM(evenHead, evenCross, s.stepS, a.meanMS)
	}
	a.flow = newFlow(a.g, th, around.heading())
	a.turnGusts()
	for i, q := range map[int]flight.Quantity{pitchOut: flight.Pitch, rollOut: flight.Roll} {
		c := h.Channel(q)
		if c == nil {
			return a, "roll or pitch attitude was not logged"
		}
		if _, ok := h.CommonClock(s.main, c); !ok {
			return a, "wind and attitude have no common clock"
		}
		a.x[i] = a.g.channel(c)
		a.g.exclude(a.x[i], h.Exclude)
	}
	a.stick = true
	for i, q := range map[int]flight.Quantity{lonStick: flight.LonStick, latStick: flight.LatStick} {
		c := h.Channel(q)
		if c != nil {
			if _, ok := h.CommonClock(s.main, c); !ok {
				c = nil
			}
		}
		a.stick = a.stick && c != nil
		a.x[i] = a.g.channel(c)
	}
	return a, ""
}

// spectra estimates the spectra of what was logged.
func (a answers) spectra(ctx context.Context, windowS float64) (*spectrum.Spectra, error) {
	return a.spectraOf(ctx, windowS, fewMeans, 6)
}

// slowSpectra are those of the lowest band.
func (a answers) slowSpectra(ctx context.Context) (*spectrum.Spectra, error) {
	return a.spectraOf(ctx, longWindowS, manyMeans, 1)
}

func (a answers) spectraOf(ctx context.Context, windowS float64, group int, maxRadS float64) (*spectrum.Spectra, error) {
	stepS := a.g.stepS * float64(group)
	var cut [][]float64
	for _, x := range a.usable() {
		cut = append(cut, groupMeans(x, group))
	}
	return spectrum.Estimate(ctx, runs(cut), stepS, spectrum.Settings{
		Window: int(math.Round(windowS / stepS)), Overlap: 0.5, MaxRadS: maxRadS,
	})
}

// groupMeans returns the means of n neighbours each. What they take off they take off inputs
// and outputs alike.
func groupMeans(x []float64, n int) []float64 {
	out := make([]float64, len(x)/n)
	for i := range out {
		for _, v := range x[n*i:][:n] {
			out[i] += v / float64(n)
		}
	}
	return out
}

// place finds how long before the aircraft the anemometer felt the gusts, and returns a with
// the gusts moved by it; lead is NaN if that cannot be told, known false unless the answers
// with the stick held may rest on it.
func (a answers) place(ctx context.Context) (moved answers, lead float64, known bool, err error) {
	if a.stick && a.windS <= slowestAnswerS {
		a.ready, a.readySums = a.sheets() // once for the search and, unmoved, for the answers
		lead, known = a.carriedS(a.ready, a.readySums)
		if err := ctx.Err(); err != nil {
			return a, math.NaN(), false, err
		}
	}
	if known {
		a = a.carriedBy(lead)
		a.far = math.Abs(lead) > nearS
		return a, lead, true, nil
	}
	long, err := a.spectra(ctx, longWindowS)
	if errors.Is(err, spectrum.ErrOneWindow) {
		return a, math.NaN(), false, nil
	}
	if err != nil {
		return a, math.NaN(), false, err
	}
	if lead = leadS(long); lead > AwayS {
		a = a.carriedBy(lead)
	}
	return a, lead, false, nil
}

// sensitivity returns the answers by band, on the gust's own axis and across, of a that was
// placed, the lead known or not.
func (a answers) sensitivity(ctx context.Context, known bool) (own, other []Gust, err error) {
	var long, short *spectrum.Spectra
	var longErr, shortErr error
	var spectra conc.WaitGroup
	spectra.Go(func() {
		if long, longErr = a.slowSpectra(ctx); longErr == nil {
			short, shortErr = a.spectra(ctx, shortWindowS)
		}
	})
	held := map[int]*heldAnswer{}
	if known {
		held, err = a.held(ctx)
	}
	spectra.Wait()
	switch {
	case err != nil:
		return nil, nil, err
	case errors.Is(longErr, spectrum.ErrOneWindow):
		return nil, nil, nil
	case longErr != nil || shortErr != nil:
		return nil, nil, cmp.Or(longErr, shortErr)
	}
	near := known && !a.far && (held[rollOut].explains() || held[pitchOut].explains())
	for _, band := range a.bands() {
		sp := short
		if band[0] < 0.6 {
			sp = long
		}
		for _, p := range ownPairs() {
			own = append(own, a.band(sp, p.axis, band, p.in, p.side, p.out, held[p.out], near))
			other = append(other, a.band(sp, p.axis, band, p.side, p.in, p.out, held[p.out], near))
		}
	}
	return own, other, nil
}

// bands returns those that the wind readings resolve.
func (a answers) bands() [][2]float64 {
	all := bandsRadS()
	n := 0
	for n < len(all) && all[n][1] <= 0.4*2*math.Pi/a.windS {
		n++
	}
	return all[:n]
}

// ownPair is an axis with the gusts that throw it.
type ownPair struct {
	axis          flight.Axis
	input         Component
	out, in, side int
}

func ownPairs() [2]ownPair {
	return [2]ownPair{{flight.RollAxis, CrossGust, rollOut, crossGust, headGust}, {flight.PitchAxis, HeadGust, pitchOut, headGust, crossGust}}
}

// held solves the answers with the stick held of both axes; empty where sticks or wind do
// not allow it.
func (a answers) held(ctx context.Context) (map[int]*heldAnswer, error) {
	held := map[int]*heldAnswer{}
	if !a.stick || a.windS > slowestAnswerS {
		return held, nil
	}
	sheets, sums := a.sheets()
	noisy, uncertain := a.noisier(sums, sheets)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	var roll *heldAnswer
	var wait conc.WaitGroup
	wait.Go(func() { roll = solveHeld(sheets, sums, rollOut, noisy, uncertain) })
	held[pitchOut] = solveHeld(sheets, sums, pitchOut, noisy, uncertain)
	wait.Wait()
	held[rollOut] = roll
	return held, ctx.Err()
}

// sheets transforms what was logged, with the products of the channels.
func (a answers) sheets() ([]sheet, []products) {
	if a.ready != nil {
		return a.ready, a.readySums
	}
	sheets := transform(runs(append(a.usable(), a.mean[:]...)), a.g.stepS)
	a.openGusts(sheets)
	sums := make([]products, len(sheets))
	for k, sh := range sheets {
		sums[k] = multiply(sh)
	}
	return sheets, sums
}

// usable returns the channels, sticks that were not logged as zeros.
func (a answers) usable() [][]float64 {
	x := append([][]float64{}, a.x[:]...)
	if !a.stick {
		x[lonStick], x[latStick] = make([]float64, a.g.n), make([]float64, a.g.n)
	}
	return x
}

// openGusts undoes what straight lines between wind readings take off, which pass the
// square of sin(x)/x, and the lag of an anemometer whose distance constant is known. Neither
// bears on what the mean wind makes, the last two channels, which becomes sheet.mean.
func (a answers) openGusts(sheets []sheet) {
	for k := range sheets {
		sh := &sheets[k]
		sh.x, sh.mean = sh.x[:answerChannels], [2][]complex128(sh.x[answerChannels:])
		for i, w := range sh.omega {
			k := complex(1/a.passed(w), w*a.lagS/a.passed(w))
			for j, in := range [2]int{headGust, crossGust} {
				sh.x[in][i] = (sh.x[in][i]-sh.mean[j][i])*k + sh.mean[j][i]
			}
		}
	}
}

// turnGusts forms the gusts against the nose from the flow.
func (a *answers) turnGusts() {
	var whole [2][]float64
	whole, a.mean = a.flow.against()
	a.x[headGust], a.x[crossGust] = whole[0], whole[1]
}

func (a answers) passed(omegaRadS float64) float64 {
	if a.windS <= a.g.stepS/2 {
		return 1
	}
	x := omegaRadS * a.windS / 2
	return math.Pow(math.Sin(x)/x, 2)
}

// band works out the answer of one axis to one gust component in one band. The answer
// with the stick held is withheld where the inputs leave much of the motion: gusts that
// the anemometer did not feel move stick and attitude together, and what the sticks
// explain then takes the gusts' part.
func (a answers) band(sp *spectrum.Spectra, axis flight.Axis, band [2]float64, in, side, out int, held *heldAnswer, near bool) Gust {
	g := Gust{Axis: axis, BandRadS: band, Input: HeadGust, SERadPerMS: math.NaN()}
	if in == crossGust {
		g.Input = CrossGust
	}
	single := a.summarise(sp.Solve(in, out, side), band)
	g.PilotInLoopRadPerMS = single.estimate(!near)
	if !a.stick {
		return g
	}
	g.PartialCoherence = a.summarise(sp.Solve(in, out, side, lonStick, latStick), band).coherence
	a.stickHeld(&g, in, held, a.followed(sp, in, side, out, band))
	return g
}

// followed works out how closely the stick of the axis follows the gusts; nil where the
// anemometer is at the aircraft.
func (a answers) followed(sp *spectrum.Spectra, in, side, out int, band [2]float64) *followed {
	if !a.far {
		return nil
	}
	stick := lonStick
	if out == rollOut {
		stick = latStick
	}
	// Of two inputs, what neither accounts for is what the first leaves times what the
	// second leaves of that (Bendat and Piersol 2010, section 7.3).
	alone, beside := a.summarise(sp.Solve(in, stick), band), a.summarise(sp.Solve(side, stick, in), band)
	left := (1 - alone.coherence) * (1 - beside.coherence)
	f := followed((1 - left) / left)
	return &f
}

// stickHeld fills the answer with the stick held.
func (a answers) stickHeld(g *Gust, in int, held *heldAnswer, far *followed) {
	g.SERadPerMS = math.NaN()
	if !held.explains() {
		return
	}
	g.RadPerMS, g.RateRadSPerMS = held.answer(in, g.BandRadS, far)
	if g.RadPerMS != nil {
		g.SERadPerMS = (g.RadPerMS.Value - g.RadPerMS.Low) / normal95
	}
	for _, e := range []*flight.Estimate{g.RadPerMS, g.RateRadSPerMS} {
		if e != nil {
			e.Low *= a.slowest(g.BandRadS[1])
		}
	}
}

// slowest returns what the slowest usual anemometer passes at omegaRadS where its distance
// constant is not known, 1 where it is: the gusts were at most so much larger than logged.
func (a answers) slowest(omegaRadS float64) float64 {
	if a.lagS > 0 || a.meanMS == 0 {
		return 1
	}
	return 1 / math.Hypot(1, omegaRadS*a.cupM/a.meanMS)
}
