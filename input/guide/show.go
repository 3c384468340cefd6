package guide

import (
	"fmt"
	"math"
	"slices"
)

// State is what to show now. It shares no memory with the guide.
func (g *Guide) State() State {
	st := g.step()
	s := State{
		Step: min(g.at+1, len(g.steps())), Steps: len(g.steps()), Kind: st.kind, Attempt: g.attempt, Column: st.col,
		Judgement: g.judgement, Judged: g.judged, Verdict: g.verdict, Changes: g.changes,
		Recording: g.recording, Finished: g.finished, Stopped: g.stopped,
		Axes: g.axes(),
	}
	if st.col >= 0 {
		s.Axis = g.columns[st.col].label
	} else {
		s.Axis = st.label
	}
	switch {
	case g.finished:
		s.Kind, s.Axis, s.Column, s.Progress = End, "", -1, 1
		s.Do = g.farewell()
		return s
	case g.gone:
		s.Do = fmt.Sprintf("%s does not report: plug it in, then move it a little.", g.deviceOf(st.col).Name)
		s.SecondsLeft = g.needs.AbsentPatience - g.idle
		return s
	}
	g.try.show(g, &s)
	if st.kind == Name {
		s.Labels = g.offers()
	}
	if s.Column >= 0 && g.columns[s.Column].present {
		c := &g.columns[s.Column]
		at := c.share(c.level())
		s.Position = &at
	}
	s.Progress = math.Min(1, math.Max(0, s.Progress))
	if g.idle > quietWait {
		s.SecondsLeft = math.Max(0, g.patience(st)-g.idle)
	}
	return s
}

// quietWait is how long, in seconds, nothing is said about going on.
const quietWait = 3.0

func (g *Guide) farewell() string {
	switch {
	case !g.recording:
		return "Nothing was recorded."
	case slices.ContainsFunc(g.plan, func(st *step) bool { return !st.done }):
		return "Done, but not everything came off."
	}
	return "Done: all that a measurement needs is recorded."
}

func (g *Guide) axes() []AxisState {
	out := []AxisState{}
	for _, i := range g.order {
		c := g.columns[i]
		a := AxisState{Label: c.label, Device: g.deviceOf(i).ID, Column: i, Kind: c.kind, Missing: []StepKind{}}
		for _, st := range g.plan {
			if !st.done && (st.col == i || st.kind == Rest) {
				a.Missing = append(a.Missing, st.kind)
			}
		}
		out = append(out, a)
	}
	return out
}

// offers are the labels that no control has yet.
func (g *Guide) offers() []string {
	var out []string
	for _, label := range Offered {
		if i := g.find(label); i < 0 || !g.columns[i].guided {
			out = append(out, label)
		}
	}
	return out
}

func share(done, need int) float64 { return float64(done) / float64(max(1, need)) }

func times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

func more(n int) string {
	if n == 1 {
		return "once more"
	}
	return fmt.Sprintf("%d times more", n)
}
