package tui

import (
	"fmt"
	"math"

	"hopcard/flight"
)

// boxes puts traces into strips: one each, or, laid over each other, two of the same
// dimension into one strip with one scale. More than two could not be told apart without
// colour.
func (v *hopView) boxes(ts []*track) []box {
	var bs []box
	for _, t := range ts {
		i := len(bs)
		if v.overlay {
			i = partner(bs, t)
		}
		if i < len(bs) {
			bs[i].over = t
			continue
		}
		bs = append(bs, box{t: t})
	}
	return bs
}

// partner is the strip that t can lie over, len(bs) if there is none.
func partner(bs []box, t *track) int {
	for i, b := range bs {
		d := t.quantity.Dimension()
		if b.over == nil && d == b.t.quantity.Dimension() && d != flight.NoDimension && t.quantity != flight.WindDirectionFrom &&
			b.t.quantity != flight.WindDirectionFrom {
			return i
		}
	}
	return len(bs)
}

// scaleOfBox is the scale of a strip and all that is in it.
func (v *hopView) scaleOfBox(b box) bounds {
	s := v.scaleOf(b.t)
	if b.over != nil {
		s = s.union(v.scaleOf(b.over))
	}
	return s
}

// drawNames writes what a strip shows: of two traces with their kind of line.
func drawNames(p *paper, b box) {
	const end = gutterWidth - 6
	switch {
	case b.over == nil:
		p.text(1, b.y, shortName(b.t.quantity), strong)
	case b.h >= 4:
		p.textTo(1, b.y, end, "━ "+shortName(b.t.quantity), strong)
		p.textTo(1, b.y+2, gutterWidth-1, "┅ "+shortName(b.over.quantity), accent2)
	default:
		x := p.textTo(1, b.y, end, "━"+shortName(b.t.quantity), strong)
		p.textTo(x, b.y, end, " ┅"+shortName(b.over.quantity), accent2)
	}
}

// drawReading writes the values of a strip at the cursor, and their change from the
// second cursor where there is room.
func (v *hopView) drawReading(p *paper, b box) {
	const end = gutterWidth - 6
	switch {
	case b.over == nil:
		p.textTo(1, b.y+1, end, readingOf(b.t, v.cursor, b.t.unit), accent)
		room := gutterWidth - 1
		if b.h == 3 { // beside the lower end of the scale
			room = end
		}
		p.textTo(1, b.y+2, room, v.changeOf(b, b.t), ink)
	case b.h >= 4:
		p.textTo(3, b.y+1, end, readingOf(b.t, v.cursor, b.t.unit), accent)
		p.textTo(3, b.y+3, end, readingOf(b.over, v.cursor, b.over.unit), accent)
		if b.h >= 6 { // the first one's change stands below both
			p.textTo(3, b.y+4, gutterWidth-1, v.changeOf(b, b.t), ink)
		}
	default:
		p.textTo(1, b.y+1, end, readingOf(b.t, v.cursor, "")+" "+readingOf(b.over, v.cursor, ""), accent)
	}
}

func readingOf(t *track, tS float64, unit string) string {
	val, ok := t.at(tS)
	if !ok {
		return "no data"
	}
	return withUnit(number(val), unit)
}

// changeOf is the change of a trace between the cursors, empty if there is none to give.
func (v *hopView) changeOf(b box, t *track) string {
	if b.h < 3 || math.IsNaN(v.ref) {
		return ""
	}
	now, ok := t.at(v.cursor)
	was, okRef := t.at(v.ref)
	if !ok || !okRef {
		return ""
	}
	return fmt.Sprintf("Δ %s", number(now-was))
}
