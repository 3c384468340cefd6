package guide

import (
	"fmt"
	"math"
	"strings"

	"halfstick/input"
)

// Choices that tell what a hand does; common practice, no source.
const (
	nameShare  = 0.05 // of the scale: a control was moved
	clearTimes = 3.0  // it moved so many times farther than any other
	letTiles   = 20   // one second of standing: it was let go
	bothShare  = 0.7  // of the scale: a two-sided axis went to both stops
	middleFrom = 0.2  // of its travel: an axis that stands inside has sides
	middleTo   = 0.8
)

// naming is an attempt at telling a control by its movement. An empty label
// takes any control under the label that it came with.
type naming struct {
	label string

	start map[int]float64
	ends  map[int]*reach
	best  int
	moved bool
	calm  int
}

func (a *naming) phase(*Guide) input.Phase { return input.Phase{} }

func (a *naming) tick(g *Guide) outcome {
	if a.start == nil {
		a.start, a.ends = map[int]float64{}, map[int]*reach{}
	}
	second := a.follow(g)
	if !a.moved {
		return goesOn(false)
	}
	c := &g.columns[a.best]
	a.calm++
	if !c.present || c.recent(movingTiles) > movingShare*a.span(a.best) {
		a.calm = 0
		return goesOn(true)
	}
	if a.calm < letTiles {
		return goesOn(true)
	}
	return a.judge(g, second)
}

// follow keeps the ends of all columns, finds the one that moved most, and
// returns the one after it, −1 if none moved.
func (a *naming) follow(g *Guide) (second int) {
	a.best, second = -1, -1
	for i := range g.columns {
		c := &g.columns[i]
		if !c.present {
			continue
		}
		if a.ends[i] == nil {
			a.start[i], a.ends[i] = c.level(), &reach{c.level(), c.level()}
		}
		a.ends[i].add(c.level())
		switch {
		case a.best < 0 || a.span(i) > a.span(a.best):
			a.best, second = i, a.best
		case second < 0 || a.span(i) > a.span(second):
			second = i
		}
	}
	a.moved = a.best >= 0 && a.span(a.best) > nameShare*scale
	if second >= 0 && a.span(second) <= nameShare*scale {
		second = -1
	}
	return second
}

func (a *naming) span(i int) float64 { return a.ends[i].high - a.ends[i].low }

// expects tells whether an axis of that label has a centre, or surely none;
// it may be neither.
func (g *Guide) expects(label string) (two, one bool) {
	if kind, ok := g.kinds[label]; ok {
		return kind == input.TwoSided, kind == input.OneSided
	}
	for _, part := range []string{"brake", "lever", "throttle"} {
		if strings.Contains(label, part) {
			return false, true
		}
	}
	for _, part := range []string{"pitch", "roll", "yaw", "rudder", "twist"} {
		if strings.Contains(label, part) {
			return true, false
		}
	}
	return false, false
}

func (a *naming) judge(g *Guide, second int) outcome {
	c := &g.columns[a.best]
	if c.guided {
		return again(fmt.Sprintf("that is %s already, move another control please", c.label))
	}
	if second >= 0 && a.span(second)*clearTimes > a.span(a.best) {
		return again(fmt.Sprintf("two controls moved, %s and %s, move one alone please", g.place(a.best), g.place(second)))
	}
	e := a.ends[a.best]
	at := func(x float64) bool {
		s := (x - e.low) / (e.high - e.low)
		return s > middleFrom && s < middleTo
	}
	two, one := g.expects(a.label)
	began, ended := at(a.start[a.best]), at(c.level())
	half := a.span(a.best) < bothShare*scale
	kind := input.OneSided
	switch {
	case began && ended && !one:
		kind = input.TwoSided
	case two && (began || ended):
		kind = input.TwoSided
	case two && half && g.step().failed == 0:
		return again(fmt.Sprintf("that was one side only, %.0f %% of the scale, once more please, to both stops", 100*a.span(a.best)/scale))
	}
	if given, ok := g.kinds[a.label]; ok {
		kind = given
	}
	g.name(a.best, a.label, kind)
	c.home, c.hasHome = c.level(), true
	c.unsprung = kind == input.OneSided && math.Abs(c.level()-a.start[a.best]) > middleFrom*a.span(a.best)
	return good(fmt.Sprintf("%s is %s, %s", c.label, g.place(a.best), kind))
}

func (a *naming) show(g *Guide, s *State) {
	s.Do = fmt.Sprintf("Move the control for %s to both of its stops, then let it go.", a.label)
	s.Hint = "without such a control, wait"
	if a.label == "" {
		s.Do = "Move any other control to both of its stops, then let it go."
		s.Hint = "when all are named, wait"
	}
	if a.moved {
		s.Hint = "let it go when it has been at both stops"
		s.Column = a.best
		if !g.columns[a.best].guided {
			s.Progress = math.Min(1, a.span(a.best)/scale)
		}
	}
}
