package guide

import (
	"math"
	"slices"

	"halfstick/input"
)

// Choices that tell what a hand does; common practice, no source.
const (
	scale      = 65535.0 // counts from end to end of every axis
	movedShare = 0.02    // of the scale: farther than the input library holds an axis
	pastTiles  = 40      // levels that are kept: two seconds
)

// column is what is known of one axis of the source.
type column struct {
	device, axis int    // places in Options.Devices
	label        string // as it is to be recorded
	kind         input.Kind
	guided       bool

	present, was bool // now, and ever
	raw          []float64
	next         float64   // the level that the newest tile leads to
	past         []float64 // levels, the newest last
	from, to     float64   // ends of what was seen since it was there
	moved        bool      // far enough since it was there

	low, high float64 // ends of all that was seen
	seen      bool
	home      float64 // where it stands untouched
	hasHome   bool
	whole     float64 // a short travel that was shown twice
	unsprung  bool    // it stays where it is left
	excused   bool    // its rest stays unknown
	lost      bool    // it was left out when it was to be swept
}

// level is where the axis is: the median of its last three tiles, which spikes
// do not reach.
func (c *column) level() float64 {
	if len(c.past) == 0 {
		return 0
	}
	return c.past[len(c.past)-1]
}

// take takes a tile's median, or an absence. The level follows by advance.
func (c *column) take(x float64, present bool) {
	c.present = present
	if !present {
		c.forget()
		c.moved = false
		return
	}
	c.was = true
	c.raw = keep(c.raw, x, 3)
	c.next = median(c.raw)
}

// forget leaves nothing of what the axis did just now.
func (c *column) forget() { c.past, c.raw = c.past[:0], c.raw[:0] }

// advance takes the level on by one tile, left of them before the newest. Where
// tiles are missing nobody knows what it did: it is led over evenly.
func (c *column) advance(left int) {
	if !c.present {
		return
	}
	x := c.next
	switch {
	case len(c.past) > 0:
		x = c.level() + (x-c.level())/float64(left+1)
	case !c.moved:
		c.from, c.to = x, x
	}
	c.past = keep(c.past, x, pastTiles)
	c.from, c.to = math.Min(c.from, x), math.Max(c.to, x)
	c.moved = c.moved || c.to-c.from > movedShare*scale
	if !c.seen {
		c.low, c.high, c.seen = x, x, true
	}
	c.low, c.high = math.Min(c.low, x), math.Max(c.high, x)
}

// span is the travel seen so far, in counts.
func (c *column) span() float64 { return c.high - c.low }

// known tells whether the travel seen is more than an accidental touch.
func (c *column) known() bool { return c.seen && c.span() > 2*movedShare*scale }

// travel is the span, or the scale while that is not known.
func (c *column) travel() float64 {
	if !c.known() {
		return scale
	}
	return c.span()
}

// share is a level's place in the travel seen, or in the whole scale.
func (c *column) share(x float64) float64 {
	low, span := c.low, c.span()
	if !c.known() {
		low, span = -scale/2, scale
	}
	return math.Min(1, math.Max(0, (x-low)/span))
}

// rest is where the axis stands untouched, as far as that is known.
func (c *column) rest() float64 {
	switch {
	case c.hasHome:
		return c.home
	case c.kind == input.OneSided:
		return c.low
	}
	return (c.low + c.high) / 2
}

// idleLow tells whether a one-sided axis idles at its low end.
func (c *column) idleLow() bool { return c.rest() <= (c.low+c.high)/2 }

// recent is the span of the last n levels.
func (c *column) recent(n int) float64 {
	w := last(c.past, n)
	if len(w) == 0 {
		return 0
	}
	return slices.Max(w) - slices.Min(w)
}

// still tells whether the axis stood still over its last n levels. least, in
// counts, always counts as standing; noise is allowed for.
func (c *column) still(n int, least float64) bool { return still(last(c.past, n), n, least) }

func still(w []float64, n int, least float64) bool {
	if len(w) < n {
		return false
	}
	noise := math.Min(unrest(w), least/2) // a movement passes for noise otherwise
	if math.Abs(median(w[:n/2])-median(w[n/2:])) > math.Max(least, 3*noise) {
		return false
	}
	// A short touch leaves both medians alone, and so does one that begins.
	mid, off := median(w), 0
	for i, x := range w {
		if math.Abs(x-mid) <= math.Max(2*least, 12*noise) {
			continue
		}
		if off++; i >= n-2 {
			return false
		}
	}
	return off < 3
}

// unrest is the scatter of neighbouring levels about their common slope.
func unrest(w []float64) float64 {
	d := make([]float64, len(w)-1)
	for i := range d {
		d[i] = w[i+1] - w[i]
	}
	mid := median(d)
	for i := range d {
		d[i] = math.Abs(d[i] - mid)
	}
	return 1.4826 * median(d)
}

func median(x []float64) float64 {
	s := slices.Clone(x)
	slices.Sort(s)
	n := len(s)
	if n == 0 {
		return 0
	}
	return (s[(n-1)/2] + s[n/2]) / 2
}

func last(x []float64, n int) []float64 { return x[max(0, len(x)-n):] }

// keep appends x and forgets all but the last n.
func keep(past []float64, x float64, n int) []float64 {
	if len(past) >= n {
		copy(past, past[len(past)-n+1:])
		past = past[:n-1]
	}
	return append(past, x)
}
