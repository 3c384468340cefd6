package guide

import "halfstick/input"

// attempt is one try at a step.
type attempt interface {
	// tick looks at the columns after a new tile.
	tick(g *Guide) outcome
	// phase is what the rows are to be written with now.
	phase(g *Guide) input.Phase
	// show fills in what the person is to see.
	show(g *Guide, s *State)
}

// outcome is what a tile brought.
type outcome struct {
	active  bool    // the person does what is asked
	heard   bool    // a part of the step came off
	verdict Verdict // NoVerdict while the attempt goes on
	words   string  // the reason for the verdict
}

func goesOn(active bool) outcome { return outcome{active: active} }

func again(words string) outcome { return outcome{verdict: Again, words: words} }

func good(words string) outcome { return outcome{verdict: Good, words: words} }
