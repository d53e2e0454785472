package importers

import (
	"fmt"
	"math"

	"hopcard/flight"
)

// orderRows turns the time column into seconds that ascend strictly and drops the rows
// whose stamp cannot be placed.
func (f *logFile) orderRows(t *table) error {
	f.rows = t.rows
	if err := f.orderRaw(f.time.seconds(), t.restarts); err != nil {
		return err
	}
	f.columns = dropTime(f.columns)
	return nil
}

// orderRaw does so for stamps as written; restarts are the rows before which the logger
// wrote its header again.
func (f *logFile) orderRaw(raw []float64, restarts []int) error {
	if err := f.guessTimeUnit(raw); err != nil {
		return err
	}
	o := newOrder(f, raw, restarts)
	o.walk()
	if len(o.keep) == 0 {
		return fmt.Errorf("no row has a time that can be read in column %q", f.time.label)
	}
	if len(o.keep) < len(raw) {
		for _, c := range f.columns {
			if c.values != nil {
				c.values = pick(c.values, o.keep)
			}
		}
	}
	f.stamps = o.stamps
	f.stepS = medianStep(f.stamps)
	f.gapFindings(o.step)
	return nil
}

func dropTime(columns []*column) []*column {
	var kept []*column
	for _, c := range columns {
		if c.quantity != flight.Time && c.quantity != "" {
			kept = append(kept, c)
		}
	}
	return kept
}

func pick(v []float64, keep []int) []float64 {
	for to, from := range keep {
		v[to] = v[from]
	}
	return v[:len(keep)]
}

// order puts stamps into ascending order, row by row.
type order struct {
	f        *logFile
	raw      []float64
	restarts []int
	step     float64 // median step
	keep     []int
	stamps   []float64
	add      float64 // what wraps and restarts add to the stamps

	unread, repeats, backward, wraps, strays int
	firstRepeat, firstBackward, firstStray   float64
}

func newOrder(f *logFile, raw []float64, restarts []int) *order {
	o := &order{f: f, raw: raw, restarts: restarts, step: medianStep(raw)}
	o.keep = make([]int, 0, len(raw))
	o.stamps = make([]float64, 0, len(raw))
	if o.spread() {
		o.step = medianStep(o.raw)
	}
	return o
}

// medianStep returns the median of the steps forward, of those spread over a long
// record; 0 without any.
func medianStep(v []float64) float64 {
	steps := make([]float64, 0, min(len(v), mostKept))
	for i := 0; i+1 < len(v); i += 1 + len(v)/mostKept {
		if d := v[i+1] - v[i]; d > 0 && d-d == 0 {
			steps = append(steps, d)
		}
	}
	if len(steps) == 0 {
		return 0
	}
	return nth(steps, len(steps)/2)
}

// spread places rows that share one coarse stamp evenly up to the next stamp, if the
// clock is coarser than the rows throughout.
func (o *order) spread() bool {
	equal := 0
	for i := 1; i < len(o.raw); i++ {
		if o.raw[i] == o.raw[i-1] {
			equal++
		}
	}
	if len(o.raw) < 4 || 5*equal < len(o.raw) {
		return false
	}
	out := make([]float64, len(o.raw))
	copy(out, o.raw)
	last := o.step
	for i := 0; i < len(o.raw); {
		n := 1
		for i+n < len(o.raw) && o.raw[i+n] == o.raw[i] {
			n++
		}
		if i+n < len(o.raw) {
			if d := o.raw[i+n] - o.raw[i]; d > 0 && d < 10*o.step {
				last = d
			}
		}
		for k := range n {
			out[i+k] = o.raw[i] + last*float64(k)/float64(n)
		}
		i += n
	}
	o.raw = out
	o.f.add(flight.CodeCoarse, flight.Caution, o.f.time.label, flight.Span{},
		fmt.Sprintf("the stamps are coarser than the rows: %d of %d repeat the one before, in steps of %.3g s; rows are spread evenly between stamps",
			equal, len(o.raw), o.step), "set the logger to finer stamps; delays from this file are good to half a step only")
	return true
}

func (o *order) walk() {
	prev, started := 0.0, false
	nextRestart := 0
	for i, r := range o.raw {
		headed := false
		for nextRestart < len(o.restarts) && o.restarts[nextRestart] <= i {
			headed = o.restarts[nextRestart] > 0
			nextRestart++
		}
		if r-r != 0 {
			o.unread++
			continue
		}
		s := r + o.add
		if !started {
			prev, started = s, true
			o.take(i, s)
			continue
		}
		if s, ok := o.place(i, s, prev, headed); ok {
			o.take(i, s)
			prev = s
		}
	}
	o.report()
}

func (o *order) take(i int, s float64) {
	o.keep = append(o.keep, i)
	o.stamps = append(o.stamps, s)
}

// place decides about the stamp s of row i after prev.
func (o *order) place(i int, s, prev float64, headed bool) (placed float64, ok bool) {
	d := s - prev
	switch {
	case d > 0 && !o.stray(i, s, prev):
		if headed {
			o.restart(prev, s, true)
		}
		return s, true
	case d > 0:
		if o.strays++; o.strays == 1 {
			o.firstStray = prev
		}
		return 0, false
	case d == 0:
		if o.repeats++; o.repeats == 1 {
			o.firstRepeat = s
		}
		return 0, false
	}
	if period := o.f.time.wrapPeriodS; period > 0 && d+period > 0 && d+period < math.Max(60, 100*o.step) {
		o.add += period
		o.wraps++
		o.f.add(flight.CodeWrap, flight.Note, o.f.time.label, flight.Span{FromS: prev, ToS: s + period},
			fmt.Sprintf("the counter starts again after %.6g s: taken for its overflow and carried on", prev), "")
		return s + period, true
	}
	if headed || !o.catchesUp(i, prev) {
		at := s
		if !o.f.time.absolute {
			at = prev + math.Max(1, 10*o.step)
			o.add += at - s
		}
		o.restart(prev, at, false)
		return at, at > prev
	}
	if o.backward++; o.backward == 1 {
		o.firstBackward = prev
	}
	return 0, false
}

// stray reports whether a stamp far ahead is a single wrong one: the next stamps go on
// where the ones before left off.
func (o *order) stray(i int, s, prev float64) bool {
	if o.step <= 0 || s-prev < 20*o.step {
		return false
	}
	for _, r := range o.raw[i+1 : min(i+4, len(o.raw))] {
		if d := r + o.add - prev; d > 0 && d < 10*o.step {
			return true
		}
	}
	return false
}

// catchesUp reports whether the stamps pass prev again within the next seconds of rows,
// as they do after a block of rows written twice or out of order.
func (o *order) catchesUp(i int, prev float64) bool {
	for _, r := range o.raw[i:min(i+2000, len(o.raw))] {
		if r+o.add > prev {
			return true
		}
	}
	return false
}

func (o *order) restart(prev, at float64, forward bool) {
	text := "the logger started again here and its clock began anew: the time between the parts is not known"
	advice := "nothing may be timed across the restart; exclude one part in hop.toml or log again"
	sev := flight.Caution
	if forward || o.f.time.absolute {
		text, advice, sev = "the logger started again here; its clock ran on", "", flight.Note
	}
	o.f.time.restarted = o.f.time.restarted || !(forward || o.f.time.absolute)
	o.f.add(flight.CodeRestart, sev, "", flight.Span{FromS: prev, ToS: at}, text, advice)
}

func (o *order) report() {
	f, label := o.f, o.f.time.label
	if o.unread > 0 {
		f.add(flight.CodeNotANumber, flight.Caution, label, flight.Span{},
			fmt.Sprintf("%d rows have no readable time", o.unread), "these rows are left out")
	}
	if o.repeats > 0 {
		f.add(flight.CodeRepeat, flight.Note, label, flight.Span{FromS: o.firstRepeat, ToS: o.firstRepeat},
			fmt.Sprintf("%d rows repeat the stamp of the row before, first at stamp %.6g s", o.repeats, o.firstRepeat),
			"the first row of each stamp is used")
	}
	if o.backward > 0 {
		f.add(flight.CodeBackward, flight.Caution, label, flight.Span{FromS: o.firstBackward, ToS: o.firstBackward},
			fmt.Sprintf("%d rows are stamped earlier than a row before them, first after stamp %.6g s", o.backward, o.firstBackward),
			"these rows are left out")
	}
	if o.strays > 0 {
		f.add(flight.CodeBackward, flight.Caution, label, flight.Span{FromS: o.firstStray, ToS: o.firstStray},
			fmt.Sprintf("%d single stamps lie far ahead of their neighbours, first after stamp %.6g s", o.strays, o.firstStray),
			"these rows are left out")
	}
}

// gapFindings reports missing rows and uneven steps.
func (f *logFile) gapFindings(step float64) {
	if step <= 0 || len(f.stamps) < 3 {
		return
	}
	const most = 20
	gaps, lost := 0, 0.0
	uneven := 0
	for i := 1; i < len(f.stamps); i++ {
		d := f.stamps[i] - f.stamps[i-1]
		if math.Abs(d-step) > 0.25*step {
			uneven++
		}
		if d < 2.5*step {
			continue
		}
		gaps++
		lost += d - step
		if gaps > most || f.restartAt(f.stamps[i]) {
			continue
		}
		sev := flight.Note
		if d > 0.25 {
			sev = flight.Caution
		}
		f.add(flight.CodeGap, sev, "", flight.Span{FromS: f.stamps[i-1], ToS: f.stamps[i]},
			fmt.Sprintf("no rows for %.3g s, %.0f are missing", d-step, d/step-1), "nothing is computed across the gap")
	}
	if gaps > most {
		f.add(flight.CodeGap, flight.Caution, "", flight.Span{FromS: f.stamps[0], ToS: f.stamps[len(f.stamps)-1]},
			fmt.Sprintf("%d gaps in all, %.3g s without rows; the first %d are listed", gaps, lost, most),
			"use a faster card or a lower rate")
	}
	if n := len(f.stamps) - 1; uneven-gaps > n/20 && n > 20 {
		f.add(flight.CodeJitter, flight.Caution, "", flight.Span{FromS: f.stamps[0], ToS: f.stamps[len(f.stamps)-1]},
			fmt.Sprintf("%.0f %% of the steps differ by more than a quarter from the median step of %.4g s", 100*float64(uneven)/float64(n), step),
			"the stamps are used as they are")
	}
}

// restartAt reports whether a restart was noted that ends at stamp s.
func (f *logFile) restartAt(s float64) bool {
	for _, n := range f.findings {
		if n.Code == flight.CodeRestart && n.Span.ToS == s {
			return true
		}
	}
	return false
}
