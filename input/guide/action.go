package guide

import (
	"errors"
	"fmt"

	"halfstick/input"
)

// Do does what a person asks for. The error says why it cannot be done, and
// nothing has changed then.
func (g *Guide) Do(a Action) error {
	if g.finished {
		return errors.New("the guide has finished; begin a new recording")
	}
	st := g.step()
	switch a.Kind {
	case Repeat:
		st.failed = 0
		g.judge(NoVerdict, "")
		g.restart()
	case Skip:
		g.gone = false
		g.leave(st, "left out as you asked")
	case Back:
		return g.back()
	case Label:
		return g.call(a.Label)
	case Turn:
		return g.turn()
	case Stop:
		g.stopped = true
		g.changes++
		g.finish()
	default:
		return fmt.Errorf("the guide knows no action %q; use repeat, skip, back, label, turn or stop", a.Kind)
	}
	return nil
}

func (g *Guide) back() error {
	if g.at == 0 {
		return errors.New("there is no step before this one; what has been named stays named")
	}
	g.gone = false
	g.at--
	st := g.step()
	if st.kind == Name {
		g.unname(st)
	}
	st.done, st.failed, st.side = false, 0, [2]int{}
	g.judge(NoVerdict, "")
	g.restart()
	return nil
}

// call gives the control that is to be named another label. A step that was to
// ask for that label asks for this step's instead.
func (g *Guide) call(label string) error {
	st := g.step()
	if st.kind != Name {
		return errors.New("the names stand in the recording already; begin a new one to change them")
	}
	if !input.ValidName(label) {
		return badLabel(label)
	}
	if i := g.find(label); i >= 0 && g.columns[i].guided {
		return fmt.Errorf("%s is the name of %s already; choose another", label, g.place(i))
	}
	for _, other := range g.names {
		if other != st && !other.done && other.label == label {
			other.label = st.label
		}
	}
	st.label, st.failed = label, 0
	g.restart()
	return nil
}

// turn makes the axis named last one-sided if it is two-sided, and back.
func (g *Guide) turn() error {
	if g.recording || g.lastNamed < 0 {
		return errors.New("no control has just been named; what it is stands in the recording already")
	}
	c := &g.columns[g.lastNamed]
	if c.kind == input.OneSided {
		c.kind = input.TwoSided
	} else {
		c.kind = input.OneSided
	}
	g.judge(Good, fmt.Sprintf("%s is %s", c.label, c.kind))
	return nil
}
