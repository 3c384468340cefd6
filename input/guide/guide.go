package guide

import (
	"errors"
	"fmt"

	"halfstick/input"
)

// Guide leads through a recording. It is not safe for use by several
// goroutines at once; Session is.
type Guide struct {
	needs   Needs
	kinds   map[string]input.Kind
	devices []input.Device // as the source has them
	columns []column       // one an axis of the source
	tiles   tiler

	names []*step // while they last
	plan  []*step // what is recorded
	any   bool    // after the names, any other control may be named
	at    int     // place in names, or in plan
	order []int   // the guided columns

	recording, finished, stopped bool
	recorded                     []input.Device
	places                       []int // the recorded columns
	lastNamed                    int   // the column named last, −1 if none

	try       attempt
	attempt   int
	age       int     // of the attempt, in tiles
	filling   bool    // the tile at hand has no row: nothing that is to be recorded may begin
	broken    bool    // it is of a pause over which no movement is seen
	idle      float64 // seconds without a movement
	reminded  bool
	gone      bool
	changes   int
	judged    int
	judgement string
	verdict   Verdict
}

// step is one thing that is asked for.
type step struct {
	kind   StepKind
	col    int    // −1 where it is about all axes or none
	label  string // of a control to be named, empty for any
	done   bool
	failed int
	side   [2]int // releases that a broken-off recording has
}

// New begins a guide. The error is one of the options.
func New(o Options) (*Guide, error) {
	g := &Guide{needs: o.Needs, kinds: o.Kinds, devices: o.Devices, lastNamed: -1}
	if g.needs == (Needs{}) {
		g.needs = DefaultNeeds
	}
	for d, dev := range o.Devices {
		for i, a := range dev.Axes {
			g.columns = append(g.columns, column{device: d, axis: i, label: a.Label, kind: a.Kind})
		}
	}
	if len(g.columns) == 0 {
		return nil, errors.New("there is no axis to be guided through; plug a controller in")
	}
	g.tiles = newTiler(len(g.columns))
	if o.Done != nil {
		return g, g.resume(o.Done)
	}
	if err := g.planNames(o); err != nil {
		return nil, err
	}
	if len(g.names) == 0 {
		g.record()
	}
	g.begin()
	return g, nil
}

// planNames finds the axes that are named already, and asks for the others.
func (g *Guide) planNames(o Options) error {
	axes := o.Axes
	if len(axes) == 0 {
		axes, g.any = Offered, true
	}
	seen := map[string]bool{}
	for _, label := range axes {
		switch {
		case !input.ValidName(label) && (g.any || g.find(label) < 0):
			return badLabel(label)
		case seen[label]:
			return fmt.Errorf("the axis %s is named twice; name it once", label)
		}
		seen[label] = true
		if c := g.find(label); c >= 0 && !g.any {
			g.columns[c].guided = true
			if kind, ok := o.Kinds[label]; ok {
				g.columns[c].kind = kind
			}
			g.order = append(g.order, c)
			continue
		}
		g.names = append(g.names, &step{kind: Name, col: -1, label: label})
	}
	if g.any {
		g.names = append(g.names, &step{kind: Name, col: -1})
	}
	return nil
}

func badLabel(label string) error {
	return fmt.Errorf("an axis cannot be called %q; use up to 64 letters, digits and hyphens", label)
}

// find is the column with a label or device-id.label, −1 if there is none.
func (g *Guide) find(label string) int {
	for i, c := range g.columns {
		if label == c.label || label == g.devices[c.device].ID+"."+c.label {
			return i
		}
	}
	return -1
}

// Observe takes the next sampled row, with all columns of the source, and
// returns the phase that it is to be written with. Rows come in the order of
// their times. While the naming lasts, rows are not to be written; see
// Recording.
func (g *Guide) Observe(row input.Row) input.Phase {
	if gap := g.tiles.standstill(row.AtUS); gap > 0 {
		g.standstill(float64(gap) / 1e6)
	} else if g.tiles.full(row.AtUS) {
		left, broken := g.tiles.take(g.columns, row.AtUS)
		for g.broken = broken; left >= 0; left-- {
			for c := range g.columns {
				g.columns[c].advance(left)
			}
			g.filling = left > 0
			g.tick()
		}
	}
	g.tiles.add(row)
	if g.finished || g.try == nil || g.gone {
		return input.Phase{}
	}
	return g.try.phase(g)
}

// Recording tells whether rows are to be written: the naming is over, and
// Devices and Columns stand.
func (g *Guide) Recording() bool { return g.recording }

// Finished tells whether nothing is asked any more.
func (g *Guide) Finished() bool { return g.finished }

// Devices are those to be recorded, with the labels and kinds that were
// recognised: every device that has a guided axis, with all of its axes, so
// that coupling into the others shows. It is nil while the naming lasts.
func (g *Guide) Devices() []input.Device { return g.recorded }

// Columns are the places of the recorded axes among the source's columns.
func (g *Guide) Columns() []int { return g.places }

// standstill begins the step anew: what was done while no row came is unknown.
// It is not the person's failure, and does not count as one.
func (g *Guide) standstill(seconds float64) {
	g.tiles.drop()
	for c := range g.columns {
		g.columns[c].forget()
	}
	if g.finished {
		return
	}
	g.judge(Again, fmt.Sprintf("the machine stood still for %.0f s, once more please", seconds))
	g.restart()
}

// tick takes a tile's time.
func (g *Guide) tick() {
	if g.finished {
		return
	}
	st := g.step()
	if g.absent(st) {
		return
	}
	g.age++
	out := g.try.tick(g)
	if out.heard {
		g.changes++
	}
	g.wait(out.active)
	switch out.verdict {
	case Good:
		st.done = true
		g.judge(Good, out.words)
		g.next()
	case Again:
		st.failed++
		if st.failed < g.needs.Attempts {
			g.judge(Again, out.words)
			g.restart()
			return
		}
		g.leave(st, fmt.Sprintf("left out after %d attempts: %s", st.failed, out.words))
	default:
		if g.idle >= g.patience(st) {
			g.impatient(st)
		}
	}
}

// absent waits for a device that has gone.
func (g *Guide) absent(st *step) bool {
	if st.col < 0 || g.columns[st.col].present || !g.columns[st.col].was {
		if g.gone {
			g.gone = false
			g.judge(g.verdict, "it is there again")
			g.restart()
		}
		return false
	}
	if !g.gone {
		g.gone, g.idle = true, 0
		g.changes++
	}
	g.idle += tile
	if g.idle >= g.needs.AbsentPatience {
		g.gone = false
		g.columns[st.col].lost = true
		g.leave(st, fmt.Sprintf("%s was gone for %.0f s: left out", g.deviceOf(st.col).Name, g.needs.AbsentPatience))
	}
	return true
}

// wait counts the time without a movement, and reminds once.
func (g *Guide) wait(active bool) {
	if active {
		g.idle, g.reminded = 0, false
		return
	}
	g.idle += tile
	if !g.reminded && g.recording && g.idle >= g.patience(g.step())/2 {
		g.reminded = true
		g.changes++
	}
}

func (g *Guide) patience(st *step) float64 {
	if st.kind == Name {
		return g.needs.NamePatience
	}
	return g.needs.Patience
}

// impatient goes on by itself.
func (g *Guide) impatient(st *step) {
	words := fmt.Sprintf("nothing moved for %.0f s: left out", g.patience(st))
	switch st.kind {
	case Name:
		words = ""
		if st.label != "" {
			words = fmt.Sprintf("no control for %s", st.label)
		}
	case Rest:
		words = fmt.Sprintf("not at rest for %.0f s: left out", g.needs.Patience)
		if i := g.unmoved(); i >= 0 {
			c := &g.columns[i]
			c.excused = true
			g.judge(LeftOut, c.label+" has not moved, so it shows nothing: its rest stays unknown")
			g.restart()
			return
		}
	}
	g.leave(st, words)
}

func (g *Guide) leave(st *step, words string) {
	if words != "" {
		g.judge(LeftOut, words)
	}
	if st.kind == Sweep {
		g.columns[st.col].lost = true
	}
	g.next()
}

func (g *Guide) judge(v Verdict, words string) {
	g.verdict, g.judgement = v, words
	g.judged++
}

// next goes on to the step after this one that is not done.
func (g *Guide) next() {
	g.at++
	for g.at < len(g.steps()) && g.idleStep(g.steps()[g.at]) {
		g.at++
	}
	if g.at < len(g.steps()) {
		g.restart()
		return
	}
	if !g.recording {
		g.record()
	} else {
		g.finish()
	}
	g.restart()
}

// idleStep tells whether a step needs no asking: it is done, or its axis did
// not move when it was to be swept.
func (g *Guide) idleStep(st *step) bool {
	return st.done || st.kind != Sweep && st.col >= 0 && g.columns[st.col].lost
}

func (g *Guide) finish() {
	g.finished = true
	g.try = nil
}

// restart begins the step at hand anew.
func (g *Guide) restart() {
	g.changes++
	g.begin()
}

func (g *Guide) begin() {
	g.idle, g.reminded, g.age = 0, false, 0
	g.attempt++
	if !g.finished {
		g.try = g.attemptAt(g.step())
	}
}

func (g *Guide) steps() []*step {
	if g.recording {
		return g.plan
	}
	return g.names
}

func (g *Guide) step() *step { return g.steps()[min(g.at, len(g.steps())-1)] }

func (g *Guide) deviceOf(col int) input.Device { return g.devices[g.columns[col].device] }

// place names an axis as the system and the files do, counted from 0.
func (g *Guide) place(col int) string {
	c := g.columns[col]
	return fmt.Sprintf("axis %d of %s", g.devices[c.device].Axes[c.axis].Index, g.deviceOf(col).Name)
}
