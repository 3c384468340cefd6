package guide

import (
	"fmt"
	"math"

	"halfstick/input"
)

// Choices that tell what a hand does; common practice, no source.
const (
	begunShare  = 0.05 // of the travel: farther than a touch
	pauseTiles  = 160  // eight seconds: the hand has stopped in the middle
	lingerTiles = 4    // at the last stop, so that the recording shows it
	movingTiles = 10   // over which movement is seen
	movingShare = 0.01 // of the travel, in them
	alongShare  = 0.03 // of another axis's travel: it moves along
	fullShare   = 0.7  // of the scale: a two-sided axis that has less shows it twice
	fullOne     = 0.5  // the same for a one-sided one
	sameShare   = 0.06 // of the travel: the same once more
)

// sweep is an attempt at moving one axis slowly from stop to stop; alone, at
// moving it without the others.
type sweep struct {
	col, need int
	alone     bool

	before []float64 // levels until it began
	levels []float64 // and since, as they are recorded
	broken []int     // those of a pause over which no movement is seen
	begun  bool
	paused int
	others map[int]*reach
	done   int // ways that count
	since  int // tiles since they are enough
}

// reach is the ends of what an axis did.
type reach struct{ low, high float64 }

func (r *reach) add(x float64) { r.low, r.high = math.Min(r.low, x), math.Max(r.high, x) }

func (a *sweep) phase(g *Guide) input.Phase {
	if !a.begun {
		return input.Phase{}
	}
	return input.Phase{Kind: input.Sweep, Label: g.columns[a.col].label}
}

func (a *sweep) tick(g *Guide) outcome {
	c := &g.columns[a.col]
	if !a.begun {
		a.before = keep(a.before, c.level(), pastTiles)
		if g.filling || !begins(c, a.before[0]) {
			return goesOn(false)
		}
		a.begun = true
	}
	if g.broken {
		a.broken = append(a.broken, len(a.levels))
	}
	a.levels = append(a.levels, c.level())
	active := c.recent(movingTiles) > movingShare*c.travel()
	a.paused++
	if active {
		a.paused = 0
	}
	out := a.judge(g, c)
	out.active = active
	return out
}

// begins tells whether an axis has left the level from which it was awaited.
func begins(c *column, from float64) bool {
	least := begunShare * c.travel()
	if !c.known() {
		least = movedShare * scale
	}
	return math.Abs(c.level()-from) > least
}

// watch keeps what the other axes of the device do meanwhile.
func (a *sweep) watch(g *Guide) {
	if a.others == nil {
		a.others = map[int]*reach{}
	}
	for i := range g.columns {
		o := &g.columns[i]
		if i == a.col || o.device != g.columns[a.col].device || !o.present {
			continue
		}
		if a.others[i] == nil {
			a.others[i] = &reach{o.level(), o.level()}
		}
		a.others[i].add(o.level())
	}
}

// along is the other axis that moved most, and by which share of its travel.
func (a *sweep) along(g *Guide) (label string, share float64) {
	for i, r := range a.others {
		o := &g.columns[i]
		if s := (r.high - r.low) / o.travel(); s > share || s == share && o.label < label {
			label, share = o.label, s
		}
	}
	return label, share
}

func (a *sweep) judge(g *Guide, c *column) outcome {
	ways := waysOf(a.levels, a.broken, c.low, c.high)
	n := len(ways)
	if n > 0 {
		a.watch(g) // the hand has done with whatever came before
	}
	a.done = 0
	for _, w := range ways {
		if w.counts() {
			a.done++
		}
	}
	switch {
	case a.done >= 2 && a.less(c):
		c.whole = c.span()
		return again(fmt.Sprintf("that was only %.0f %% of the scale; if there is no more, do the same once more", 100*c.span()/scale))
	case a.done >= a.need:
		if a.since++; a.since < lingerTiles {
			return goesOn(true)
		}
		return a.finish(g, c)
	case n >= 2 && !ways[n-1].whole && !ways[n-2].whole:
		return again(fmt.Sprintf("that was only %.0f %% of the travel, once more please, to both stops", 100*math.Max(ways[n-1].share, ways[n-2].share)))
	case n >= 2 && ways[n-1].broken && ways[n-2].broken:
		return again("the machine stood still in the middle of the way, once more please; close what else keeps it busy")
	case n >= 2 && !ways[n-1].counts() && !ways[n-2].counts():
		return again("that was too fast, once more please, some four seconds from stop to stop")
	case a.paused > pauseTiles:
		return again(fmt.Sprintf("you stopped after %d of %d ways, once more please", a.done, a.need))
	}
	return goesOn(true)
}

// less tells whether the travel is so short that it must be shown twice.
func (a *sweep) less(c *column) bool {
	full := fullShare
	if c.kind == input.OneSided {
		full = fullOne
	}
	return c.span() < full*scale && math.Abs(c.whole-c.span()) > sameShare*c.span()
}

func (a *sweep) finish(g *Guide, c *column) outcome {
	label, share := a.along(g)
	moved := fmt.Sprintf("%s moved along by %.0f %%", label, 100*share)
	switch {
	case share <= alongShare:
		return good(fmt.Sprintf("%d ways from stop to stop", a.done))
	case !a.alone:
		g.sweepAlone(a.col)
		return good(fmt.Sprintf("%d ways from stop to stop; %s", a.done, moved))
	case g.step().failed == 0:
		return again(moved + ", once more please, touching nothing else")
	}
	return good(moved + " again: it may be the device itself")
}

func (a *sweep) show(g *Guide, s *State) {
	c := &g.columns[a.col]
	s.Progress = share(a.done, a.need)
	s.Do = fmt.Sprintf("Move %s slowly from stop to stop, %s there and back.", c.label, times((a.need+1)/2))
	if a.alone {
		s.Do = fmt.Sprintf("Move %s alone from stop to stop, %s there and back, touching nothing else.", c.label, times((a.need+1)/2))
	}
	if !a.begun {
		s.Hint = g.wrongControl(a.col)
	}
}
