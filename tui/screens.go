package tui

import "context"

// newScreens lists the screens in the order of their keys. Work that the screen of the
// trend does by itself ends with ctx.
func newScreens(ctx context.Context, d *desk) []screen {
	ss := []screen{
		logbookScreen: newLogbook(d),
		hopScreen:     newHopView(d),
	}
	ss = append(ss,
		newResponseView(d),
		newPage(d, "air", func(o *opened, w int) []line { return airLines(o, w, d.speed) }),
		newPage(d, "stability", func(o *opened, w int) []line { return stabilityLines(o, w, d.speed) }),
		newDataPage(d),
	)
	if d.opts.Card != nil {
		ss = append(ss, newCardPage(d))
	}
	return append(ss, newPairPage(d), newHeadView(d), newTrendView(ctx, d))
}
