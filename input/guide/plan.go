package guide

import (
	"fmt"
	"slices"

	"halfstick/input"
)

// name says that the step's control is a column.
func (g *Guide) name(col int, label string, kind input.Kind) {
	st := g.step()
	c := &g.columns[col]
	if label == "" {
		label = g.free(c.label, col)
	}
	c.label, c.kind, c.guided = label, kind, true // before another is given a free one
	for i := range g.columns {
		if o := &g.columns[i]; i != col && o.label == label {
			o.label = "" // the name is taken from it
			o.label = g.free(label, i)
		}
	}
	st.col, g.lastNamed = col, col
	g.order = append(g.order, col)
	last := g.at == len(g.names)-1
	switch {
	case len(g.order) == len(g.columns):
		g.names = g.names[:g.at+1]
	case g.any && last:
		g.names = append(g.names, &step{kind: Name, col: -1})
	}
}

// unname takes back what a step named.
func (g *Guide) unname(st *step) {
	if !st.done {
		return
	}
	c := &g.columns[st.col]
	a := g.devices[c.device].Axes[c.axis]
	c.guided, c.kind, c.label = false, a.Kind, ""
	c.label = g.free(a.Label, st.col)
	g.order = slices.DeleteFunc(g.order, func(i int) bool { return i == st.col })
	g.lastNamed = -1
	st.done, st.col = false, -1
}

// free is a label, or with a number where another column has it.
func (g *Guide) free(label string, but int) string {
	taken := func(l string) bool {
		return slices.ContainsFunc(g.columns, func(c column) bool { return c.label == l }) && g.columns[but].label != l
	}
	out := label
	for n := 2; taken(out); n++ {
		out = fmt.Sprintf("%s-%d", label, n)
	}
	return out
}

// record ends the naming.
func (g *Guide) record() {
	g.at = 0
	if len(g.order) == 0 {
		g.judge(LeftOut, "no control was moved: there is nothing to record")
		g.finish()
		return
	}
	g.layOut()
	g.planSteps()
}

// planSteps lists what is to be recorded.
func (g *Guide) planSteps() {
	add := func(kind StepKind, col int) { g.plan = append(g.plan, &step{kind: kind, col: col}) }
	for _, i := range g.order {
		add(Sweep, i)
	}
	add(Rest, -1)
	for _, i := range g.order {
		if !g.columns[i].unsprung {
			add(Release, i)
		}
		add(Hold, i)
	}
	g.recording = true
}

// layOut settles what is recorded.
func (g *Guide) layOut() {
	col := 0
	for _, dev := range g.devices {
		from := col
		col += len(dev.Axes)
		if !slices.ContainsFunc(g.columns[from:col], func(c column) bool { return c.guided }) {
			continue
		}
		dev.Axes = slices.Clone(dev.Axes)
		for i := range dev.Axes {
			c := g.columns[from+i]
			a := &dev.Axes[i]
			a.Label, a.Kind = c.label, c.kind
			if c.guided {
				*a = a.WithGuided()
			}
			g.places = append(g.places, from+i)
		}
		g.recorded = append(g.recorded, dev)
	}
}

// sweepAlone asks for a sweep of a column alone, behind its other steps, as
// another axis moved along in its sweep.
func (g *Guide) sweepAlone(col int) {
	at := -1
	for i, s := range g.plan {
		if s.kind == Coupling && s.col == col {
			return
		}
		if s.col == col {
			at = i
		}
	}
	g.plan = slices.Insert(g.plan, at+1, &step{kind: Coupling, col: col})
}

// attemptAt begins an attempt at a step.
func (g *Guide) attemptAt(st *step) attempt {
	n := g.needs
	switch st.kind {
	case Name:
		return &naming{label: st.label}
	case Sweep:
		g.columns[st.col].lost = false
		return &sweep{col: st.col, need: g.waysOf(st.col)}
	case Coupling:
		return &sweep{col: st.col, need: n.CouplingWays, alone: true}
	case Rest:
		a := &rest{need: n.RestSeconds}
		if len(g.order) == 1 {
			a.label = g.columns[g.order[0]].label
		}
		return a
	case Release:
		return &release{col: st.col, need: g.releases(st.col), done: &st.side}
	}
	return &hold{col: st.col, need: n.HoldSeconds}
}

// waysOf is how many ways from stop to stop a sweep is to have.
func (g *Guide) waysOf(col int) int {
	if g.columns[col].kind == input.OneSided {
		return g.needs.WaysOneSided
	}
	return g.needs.Ways
}

// releases is how many are wanted from the low and the high side.
func (g *Guide) releases(col int) [2]int {
	c := &g.columns[col]
	switch {
	case c.kind != input.OneSided:
		return [2]int{g.needs.Releases, g.needs.Releases}
	case c.idleLow():
		return [2]int{0, g.needs.ReleasesOneSided}
	}
	return [2]int{g.needs.ReleasesOneSided, 0}
}

// unmoved is a guided axis that has not moved far enough since it was opened
// for the input library to show it; −1 if there is none.
func (g *Guide) unmoved() int {
	for _, i := range g.order {
		if c := g.columns[i]; !c.moved && !c.excused && !c.lost {
			return i
		}
	}
	return -1
}

// wrongControl says which other axis moves while this one does not.
func (g *Guide) wrongControl(col int) string {
	c := &g.columns[col]
	// At first the hand may still be busy with the step before.
	if g.age < 2*calmTiles || c.recent(pastTiles) > movedShare*c.travel() {
		return ""
	}
	best, most := "", 0.2
	for i := range g.columns {
		o := &g.columns[i]
		if s := o.recent(calmTiles) / o.travel(); i != col && o.present && s > most {
			best, most = o.label, s
		}
	}
	if best == "" {
		return ""
	}
	return fmt.Sprintf("that is %s; move %s", best, c.label)
}
