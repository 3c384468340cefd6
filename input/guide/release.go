package guide

import (
	"fmt"
	"math"

	"halfstick/input"
)

// Choices that tell what a hand does; common practice, no source. Shares are of
// the way from where the axis rests to the stop.
const (
	pushedShare = 0.85 // far enough to be let go
	beganShare  = 0.2  // farther than a touch
	leftShare   = 0.7  // let go when below
	backShare   = 0.3  // and led back when it takes longer than
	ledTiles    = 50   // two and a half seconds to get there
	homeShare   = 0.5  // it has come back, well or not
	restTiles   = 30   // a second and a half of standing still
	leastTiles  = 40   // two seconds from letting go to the end
	seenTiles   = 20   // one second: without a pause at the end, where it is read
	stayTiles   = 100  // five seconds: it stays where it is left
	lateTiles   = 200  // ten seconds: it does not come to rest
	stillShare  = 0.007
)

// release is an attempt at letting one axis go, over and over.
type release struct {
	col  int
	need [2]int  // from the low and the high side
	done *[2]int // what came off, of this attempt and those before it

	side     int // 0 low, 1 high; while pushed
	pushed   bool
	let      bool
	tiles    int     // since it was pushed, or let go
	led      int     // tiles from letting go to backShare
	seen     int     // tiles since a pause over which no movement is seen
	farthest float64 // share of the way that a push that fell short reached
	toward   int
}

func (a *release) phase(g *Guide) input.Phase {
	if !a.pushed {
		return input.Phase{}
	}
	kind := input.ReleaseLow
	if a.side == 1 {
		kind = input.ReleaseHigh
	}
	return input.Phase{Kind: kind, Label: g.columns[a.col].label}
}

// way is how far the axis is from its rest towards a stop.
func (c *column) way(side int) float64 {
	home, end := c.rest(), c.low
	if side == 1 {
		end = c.high
	}
	if math.Abs(end-home) < movedShare*c.span() {
		return 0
	}
	return (c.level() - home) / (end - home)
}

func (a *release) tick(g *Guide) outcome {
	c := &g.columns[a.col]
	active := c.recent(movingTiles) > movingShare*c.travel()
	out := goesOn(active)
	switch {
	case !a.pushed:
		out = a.await(g, c)
	case !a.let:
		out = a.held(g, c)
	default:
		out = a.settle(g, c)
	}
	out.active = out.active || active
	return out
}

// await waits for a push to a stop.
func (a *release) await(g *Guide, c *column) outcome {
	for side := range a.need {
		w := c.way(side)
		if w > a.farthest {
			a.farthest, a.toward = w, side
		}
		if w >= pushedShare && a.done[side] < a.need[side] && !g.filling {
			a.pushed, a.side, a.tiles, a.farthest = true, side, 0, 0
			return goesOn(true)
		}
	}
	fell := a.farthest > 2*beganShare && c.way(a.toward) < beganShare
	if !fell {
		return goesOn(false)
	}
	short := a.farthest
	a.farthest = 0
	if short >= pushedShare {
		return goesOn(true) // a side that is done already
	}
	return again(fmt.Sprintf("that was only %.0f %% of the way to the stop, once more please", 100*short))
}

// held waits for the hand to let go.
func (a *release) held(g *Guide, c *column) outcome {
	a.tiles++
	if c.way(a.side) < leftShare {
		a.let, a.tiles, a.led, a.seen = true, 0, 0, 0
		return goesOn(true)
	}
	if a.tiles < stayTiles || !c.still(restTiles, stillShare*c.travel()) {
		return goesOn(true)
	}
	a.pushed = false
	if c.kind == input.OneSided {
		c.unsprung = true
		return good(c.label + " stays where it is left: nothing to let go")
	}
	return again(c.label + " stayed at its stop, once more please: push it, then take the hand off")
}

// settle waits for the axis to come to rest.
func (a *release) settle(g *Guide, c *column) outcome {
	a.tiles++
	if a.seen++; g.broken {
		a.seen = 0 // where it came to rest is read from rows, not from what led over
	}
	w := c.way(a.side)
	if w > backShare {
		a.led++
	}
	switch {
	case w > pushedShare || c.way(1-a.side) > pushedShare:
		return a.broken("it was moved before it had come to rest, once more please")
	case a.led > ledTiles && w <= backShare:
		return a.broken("it was led back, once more please: take the hand off at the stop")
	case a.tiles > lateTiles:
		return a.broken("it did not come to rest, once more please")
	case a.tiles < leastTiles || a.seen < seenTiles || !c.still(restTiles, stillShare*c.travel()):
		return goesOn(true)
	case w > homeShare:
		return a.broken("it did not come back, once more please: take the hand off")
	}
	a.pushed, a.let = false, false
	a.done[a.side]++
	if a.done[0] >= a.need[0] && a.done[1] >= a.need[1] {
		return good(fmt.Sprintf("%d releases", a.done[0]+a.done[1]))
	}
	return outcome{active: true, heard: true}
}

func (a *release) broken(words string) outcome {
	a.pushed, a.let = false, false
	return again(words)
}

func (a *release) show(g *Guide, s *State) {
	c := &g.columns[a.col]
	s.Progress = share(a.done[0]+a.done[1], a.need[0]+a.need[1])
	left := [2]int{a.need[0] - a.done[0], a.need[1] - a.done[1]}
	where := "a stop"
	switch {
	case a.pushed && !a.let:
		s.Hint = "let it go"
	case a.let:
		s.Hint = "leave it alone until the bell"
	}
	switch {
	case c.kind == input.OneSided:
		where = "its far stop"
	case left[0] > 0 && left[1] > 0:
	default:
		where = "the other stop"
	}
	switch {
	case left[0] <= 0:
		s.Side = "high"
	case left[1] <= 0:
		s.Side = "low"
	}
	s.Zone = a.zone(c, s.Side)
	s.Do = fmt.Sprintf("Push %s to %s, let it go, and wait: %s.", c.label, where, more(max(0, left[0])+max(0, left[1])))
	if !a.pushed && s.Hint == "" {
		s.Hint = g.wrongControl(a.col)
	}
}

// zone is where the push should reach, where only one side is left.
func (a *release) zone(c *column, side string) *[2]float64 {
	at := c.share(c.rest())
	switch side {
	case "low":
		return &[2]float64{0, at * (1 - pushedShare)}
	case "high":
		return &[2]float64{at + (1-at)*pushedShare, 1}
	}
	return nil
}
