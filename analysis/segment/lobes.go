package segment

import (
	"math"

	"hopcard/flight"
)

const (
	leastLobeSI = 0.08 // smaller rounded swings are not told from the pilot's own work
	lobeWork    = 5.0  // and they must be this many times that work
	shortLobeS  = 0.25
	longLobeS   = 3.0
)

// lobes returns doublets and step series flown with a soft hand, whose edges are too round
// to be seen as such: two or more large swings of the stick to alternate sides, of like
// length and size, out of rest and back to rest. The first one must be large already: a
// fight with the aircraft starts small and grows.
func (s *stickTrace) lobes(body flight.Span) []pattern {
	least := max(leastLobeSI, lobeWork*s.work(body))
	all := s.strokes(body, least)
	for i := range all {
		all[i] = s.tightened(all[i])
	}
	var out []pattern
	for i := 0; i < len(all); {
		k := i
		for k+1 < len(all) && all[k+1].fromS-all[k].toS < 0.5*all[k].lengthS() && alike(all[k], all[k+1]) {
			k++
		}
		if run := all[i : k+1]; len(run) >= 2 && s.deliberate(run) {
			kind := flight.Steps
			if len(run) == 2 {
				kind = flight.Doublet
			}
			out = append(out, pattern{kind, flight.Span{FromS: run[0].fromS, ToS: run[len(run)-1].toS}, math.Abs(run[0].peak)})
		}
		i = k + 1
	}
	return out
}

// tightened moves the ends of a swing to where the stick is a fifth of its peak off trim: a
// stick at rest a little off trim crosses it long before and after.
func (s *stickTrace) tightened(a stroke) stroke {
	trim := s.trim
	lo, hi := s.grid.Index(a.fromS), s.grid.Index(a.toS)
	off := func(i int) bool { return (s.x[i]-trim[i])/a.peak > 0.2 }
	for lo < hi && !off(lo) {
		lo++
	}
	// The swing is the part about its peak.
	top := lo
	for i := lo; i <= hi; i++ {
		if (s.x[i]-trim[i])/a.peak > (s.x[top]-trim[top])/a.peak {
			top = i
		}
	}
	for lo = top; lo > 0 && off(lo-1); lo-- {
	}
	for hi = top; hi < s.grid.N-1 && off(hi+1); hi++ {
	}
	return stroke{s.grid.TimeS(lo), s.grid.TimeS(hi), a.peak}
}

// alike reports whether two swings may belong to one input.
func alike(a, b stroke) bool {
	for _, l := range []float64{a.lengthS(), b.lengthS()} {
		if l < shortLobeS || l > longLobeS {
			return false
		}
	}
	length, size := b.lengthS()/a.lengthS(), math.Abs(b.peak/a.peak)
	return length > 0.4 && length < 2.5 && size > 0.4 && size < 2.5
}

// deliberate reports whether the swings come out of rest, large from the first, and end in
// rest.
func (s *stickTrace) deliberate(run []stroke) bool {
	most := 0.0
	for _, r := range run {
		most = max(most, math.Abs(r.peak))
	}
	first, last := run[0], run[len(run)-1]
	return math.Abs(first.peak) > 0.4*most &&
		s.reachIn(flight.Span{FromS: first.fromS - 1, ToS: first.fromS}) < 0.35*most &&
		s.reachIn(flight.Span{FromS: last.toS + 0.2, ToS: last.toS + 1}) < 0.5*most
}
