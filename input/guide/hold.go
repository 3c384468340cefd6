package guide

import (
	"fmt"
	"math"

	"halfstick/input"
)

// Choices that tell what a hand does; common practice, no source. Shares are of
// the half-throw, or of the throw of a one-sided axis.
const (
	holdFrom   = 0.3
	holdTo     = 0.7
	holdTiles  = 10   // half a second of standing, before it counts
	holdShare  = 0.04 // a hand stands no stiller
	leaveShare = 0.1  // it has moved on
)

// hold is an attempt at keeping one axis still at about half its throw.
type hold struct {
	col  int
	need float64 // seconds

	holding bool
	at      float64
	tiles   int // since it began, or is held
}

func (a *hold) phase(g *Guide) input.Phase {
	if !a.holding {
		return input.Phase{}
	}
	return input.Phase{Kind: input.Hold, Label: g.columns[a.col].label}
}

// half is the half-throw on the side where the axis is, in counts.
func (c *column) half() (side int, counts float64) {
	if c.kind == input.OneSided {
		side = 0
		if c.idleLow() {
			side = 1
		}
		return side, c.span()
	}
	if c.level() >= c.rest() {
		return 1, c.high - c.rest()
	}
	return 0, c.rest() - c.low
}

func (a *hold) tick(g *Guide) outcome {
	c := &g.columns[a.col]
	side, half := c.half()
	w := c.way(side)
	within := w >= holdFrom && w <= holdTo
	a.tiles++
	if !a.holding {
		if within && !g.filling && a.tiles >= holdTiles && c.still(holdTiles, holdShare*half) {
			a.holding, a.at, a.tiles = true, c.level(), 0
		}
		return goesOn(within || c.recent(movingTiles) > movingShare*c.travel())
	}
	if !within || math.Abs(c.level()-a.at) > leaveShare*half {
		a.holding = false
		return again(fmt.Sprintf("it moved on after %.1f s, once more please", float64(a.tiles)*tile))
	}
	if float64(a.tiles)*tile < a.need {
		return goesOn(true)
	}
	a.holding = false
	return good(fmt.Sprintf("held for %.0f s", a.need))
}

func (a *hold) show(g *Guide, s *State) {
	c := &g.columns[a.col]
	s.Do = fmt.Sprintf("Hold %s still at about half its throw.", c.label)
	if a.holding {
		s.Progress = float64(a.tiles) * tile / a.need
		s.Hint = "keep it there"
	} else {
		s.Hint = g.wrongControl(a.col)
	}
	side, _ := c.half()
	end, at := 0.0, c.share(c.rest())
	if side == 1 {
		end = 1
	}
	from, to := at+(end-at)*holdFrom, at+(end-at)*holdTo
	s.Zone = &[2]float64{math.Min(from, to), math.Max(from, to)}
}
