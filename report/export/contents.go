package export

import (
	"fmt"
	"path/filepath"
	"strings"

	"hopcard/flight"
)

// Options says how channels are exported.
type Options struct {
	// RateHz is the rate that all channels are brought to; 0 leaves each at its own.
	RateHz float64
	// Version of the program, written into Parquet files.
	Version string
}

// column is one channel as it is exported.
type column struct {
	name    string
	unit    flight.Unit
	fromSI  float64
	channel *flight.Channel
	source  *flight.Source
}

// Contents says what of a hop can be exported, and what not.
type Contents struct {
	columns []column
	hop     *flight.Hop
	options Options
	// LeftOut has a sentence for each log or channel that is not exported: why, and what
	// to do.
	LeftOut []string
}

// Channels returns the names of the channels that are exported, in their order.
func (c *Contents) Channels() []string {
	var names []string
	for _, col := range c.columns {
		names = append(names, col.name)
	}
	return names
}

// Of finds out what can be exported of h. It is an error if there is nothing.
func Of(h *flight.Hop, o Options) (*Contents, error) {
	c := &Contents{hop: h, options: o}
	apart := c.sourcesApart()
	used := map[string]bool{}
	for _, q := range flight.Quantities() {
		for i := range h.Channels {
			ch := &h.Channels[i]
			if ch.Quantity != q || q == flight.Time || apart[ch.Source] || ch.Len() == 0 {
				continue
			}
			if o.RateHz > 0 && q.Dimension() == flight.Pure {
				continue
			}
			unit, fromSI := q.ShownUnit()
			name := unique(Name(q), used)
			c.columns = append(c.columns, column{name, unit, fromSI, ch, h.SourceOf(ch)})
		}
	}
	if o.RateHz > 0 && h.Channel(flight.QuaternionW) != nil {
		c.LeftOut = append(c.LeftOut, "quaternions are not brought to another rate part by part; "+
			"use roll, pitch and heading, or export without a rate")
	}
	if len(c.columns) == 0 {
		return nil, fmt.Errorf("%s: no channel can be exported; look at what was recognised with: hopcard check", h.Name)
	}
	return c, nil
}

// sourcesApart tells which sources cannot be timed against the attitude, or against the
// first source where there is no attitude.
func (c *Contents) sourcesApart() map[int]bool {
	h := c.hop
	reference := h.Channel(flight.Roll)
	if reference == nil {
		reference = h.Channel(flight.Pitch)
	}
	if reference == nil && len(h.Channels) > 0 {
		reference = &h.Channels[0]
	}
	apart := map[int]bool{}
	for i := range h.Channels {
		ch := &h.Channels[i]
		if _, ok := h.CommonClock(reference, ch); ok || apart[ch.Source] {
			continue
		}
		apart[ch.Source] = true
		c.LeftOut = append(c.LeftOut, fmt.Sprintf(
			"%s: its clock could not be put on the hop's; give clock_offset_s in hop.toml, or export it by itself",
			filepath.Base(h.SourceOf(ch).File)))
	}
	return apart
}

// Name is how a channel of q is named in exported tables.
func Name(q flight.Quantity) string {
	name := strings.TrimSuffix(string(q), " attitude")
	name = strings.ReplaceAll(name, " ", "_")
	switch unit, _ := q.ShownUnit(); unit {
	case flight.NoUnit:
		return name
	default:
		return name + "_" + strings.ReplaceAll(string(unit), "/", "_")
	}
}

// unique gives the second channel of a name the name with a 2, and so on.
func unique(name string, used map[string]bool) string {
	free := name
	for n := 2; used[free]; n++ {
		free = fmt.Sprintf("%s_%d", name, n)
	}
	used[free] = true
	return free
}
