package guide

import (
	"errors"
	"fmt"
	"slices"

	"halfstick/input"
)

// nearlyAll is the share of a time asked for that counts as that time: tiles
// fall differently when a recording is read again.
const nearlyAll = 0.95

// nearlyStill is how much more than a release's stillness counts as that, for
// the same reason: it had come off in the first tiles that stood still enough.
const nearlyStill = 1.5

// resume takes labels, kinds and what came off from a recording that was
// broken off.
func (g *Guide) resume(done *input.Recording) error {
	if err := g.match(done.Header.Devices); err != nil {
		return err
	}
	if len(g.order) == 0 {
		return errors.New("the recording that is to be gone on with was not guided; begin a new one")
	}
	g.planSteps()
	p := past{g: g, rec: done}
	p.learn()
	for _, st := range g.plan {
		st.done = p.has(st)
	}
	for _, i := range g.order {
		// A first sweep that another axis moved along in, and no second one.
		if n := p.ways(i); n >= g.waysOf(i) && n < g.waysOf(i)+g.needs.CouplingWays && !p.alone(i) {
			g.sweepAlone(i)
		}
	}
	g.at = -1
	g.next()
	if g.finished {
		g.judge(Good, "nothing is missing in the recording")
	}
	return nil
}

// match finds the columns of a recording's devices among those of the source.
func (g *Guide) match(devices []input.Device) error {
	g.recorded = devices
	for _, dev := range devices {
		from := 0
		at := slices.IndexFunc(g.devices, func(d input.Device) bool { return d.ID == dev.ID && d.GUID == dev.GUID })
		for _, d := range g.devices[:max(0, at)] {
			from += len(d.Axes)
		}
		if at < 0 || len(g.devices[at].Axes) != len(dev.Axes) {
			return fmt.Errorf("%s (%s) of the recording is not there as it was; plug it in as before, or begin a new recording", dev.Name, dev.ID)
		}
		for i, a := range dev.Axes {
			now := g.devices[at].Axes[i]
			if a.Index != now.Index || a.OSFilter != nil && now.OSFilter != nil && (a.OSFilter.Fuzz != now.OSFilter.Fuzz || a.OSFilter.Flat != now.OSFilter.Flat) {
				return fmt.Errorf("what the system hides of %s, or the order of its axes, is not as in the recording; begin a new one", dev.Name)
			}
			c := &g.columns[from+i]
			c.label, c.kind, c.guided = a.Label, a.Kind, a.Guided()
			g.places = append(g.places, from+i)
			if c.guided {
				g.order = append(g.order, from+i)
			}
		}
	}
	return nil
}

// past reads what came off in a recording.
type past struct {
	g   *Guide
	rec *input.Recording
}

// levels are those of a column in a stretch, one a tile, and which of them are of
// a pause over which no movement is seen.
func (p past) levels(col int, s input.Stretch) (out []float64, broken []int) {
	n := slices.Index(p.g.places, col)
	c, t := make([]column, 1), newTiler(1)
	flush := func(atUS int64) {
		left, paused := t.take(c, atUS)
		for ; left >= 0; left-- {
			if c[0].advance(left); !c[0].present {
				continue
			}
			if paused {
				broken = append(broken, len(out))
			}
			out = append(out, c[0].level())
		}
	}
	for i := s.From; i < s.To; i++ {
		at := p.rec.Times.At(i)
		if t.full(at) {
			flush(at)
		}
		t.add(input.Row{AtUS: at, Counts: []int16{p.rec.Columns[n].At(i)}, Present: []bool{p.rec.Columns[n].PresentAt(i)}})
	}
	flush(p.rec.Times.At(s.To-1) + tileUS)
	return out, broken
}

// stretches are those of a kind that are about a column.
func (p past) stretches(kind input.PhaseKind, col int) [][]float64 {
	var out [][]float64
	for _, s := range p.rec.PhaseRanges(kind, p.g.columns[col].label) {
		if x, _ := p.levels(col, s); len(x) > 0 {
			out = append(out, x)
		}
	}
	return out
}

// learn takes travel and rest from the recording.
func (p past) learn() {
	for _, i := range p.g.order {
		c := &p.g.columns[i]
		for _, kind := range []input.PhaseKind{input.Sweep, input.ReleaseLow, input.ReleaseHigh} {
			for _, x := range p.stretches(kind, i) {
				low, high := slices.Min(x), slices.Max(x)
				if !c.seen {
					c.low, c.high, c.seen = low, high, true
				}
				c.low, c.high = min(c.low, low), max(c.high, high)
			}
		}
		for _, x := range p.stretches(input.Rest, i) {
			c.home, c.hasHome = median(x), true
		}
		if p.ways(i) >= 2 {
			c.whole = c.span()
		}
	}
}

// ways counts those from stop to stop in all sweeps of a column.
func (p past) ways(col int) int {
	c, n := &p.g.columns[col], 0
	for _, s := range p.rec.PhaseRanges(input.Sweep, c.label) {
		x, broken := p.levels(col, s)
		for _, w := range waysOf(x, broken, c.low, c.high) {
			if w.counts() {
				n++
			}
		}
	}
	return n
}

// has tells whether a step came off.
func (p past) has(st *step) bool {
	needs := p.g.needs
	switch st.kind {
	case Sweep:
		return p.ways(st.col) >= p.g.waysOf(st.col)
	case Rest:
		return !slices.ContainsFunc(p.g.order, func(i int) bool {
			return longest(p.stretches(input.Rest, i)) < nearlyAll*needs.RestSeconds
		})
	case Hold:
		return longest(p.stretches(input.Hold, st.col)) >= nearlyAll*needs.HoldSeconds
	}
	need := p.g.releases(st.col)
	for side, kind := range []input.PhaseKind{input.ReleaseLow, input.ReleaseHigh} {
		for _, x := range p.stretches(kind, st.col) {
			c := &p.g.columns[st.col]
			if len(x) >= leastTiles && still(last(x, restTiles), restTiles, nearlyStill*stillShare*c.travel()) {
				st.side[side]++
			}
		}
	}
	return st.side[0] >= need[0] && st.side[1] >= need[1]
}

// longest is the length of the longest stretch, in seconds.
func longest(stretches [][]float64) float64 {
	n := 0
	for _, x := range stretches {
		n = max(n, len(x))
	}
	return float64(n) * tile
}

// alone tells whether the other axes of the device stood still in the last
// sweep of a column, once it had been at a stop.
func (p past) alone(col int) bool {
	c := &p.g.columns[col]
	all := p.rec.PhaseRanges(input.Sweep, c.label)
	if len(all) == 0 {
		return false
	}
	s := all[len(all)-1]
	x, _ := p.levels(col, s)
	turns := turnsOf(x, turnShare*c.span(), func(v float64) bool { return c.share(v) < endShare || c.share(v) > 1-endShare })
	if len(turns) < 2 {
		return false
	}
	for _, i := range p.g.places {
		o := &p.g.columns[i]
		if i == col || o.device != c.device {
			continue
		}
		if y, _ := p.levels(i, s); len(y) == len(x) && slices.Max(y[turns[1]:])-slices.Min(y[turns[1]:]) > alongShare*o.travel() {
			return false
		}
	}
	return true
}
