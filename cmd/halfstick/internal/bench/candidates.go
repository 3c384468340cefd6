package bench

import (
	"errors"
	"fmt"
	"slices"
	"sync/atomic"

	"halfstick/cmd/halfstick/internal/bench/session"
	"halfstick/curves"
)

// proposalName is what the proposal is called among the candidates.
const proposalName = "proposal"

// choice is the candidates of an axis, the proposal first, and the chosen one.
type choice struct {
	candidates []session.Candidate
	chosen     int
	undo, redo bool
}

// choiceOf sets the proposal before what the session has of an axis. Candidates
// for another kind of axis are passed over as the proposal.
func (b *Bench) choiceOf(x *analysedAxis) choice {
	now, undo, redo := b.session.Axis(x.label())
	out := choice{candidates: []session.Candidate{{Name: proposalName, Axis: x.proposed.Profile}}, chosen: now.Chosen, undo: undo, redo: redo}
	for _, c := range now.Candidates {
		axis, ok := x.rebased(c.Axis)
		if !ok {
			axis = x.proposed.Profile
		}
		out.candidates = append(out.candidates, session.Candidate{Name: c.Name, Axis: axis})
	}
	return out
}

// chosen is the candidate that is tried, saved and taken away.
func (b *Bench) chosen(x *analysedAxis) session.Candidate {
	c := b.choiceOf(x)
	return c.candidates[c.chosen]
}

// changeResponse changes the chosen candidate. A change of the proposal makes a
// candidate of it: the proposal stays.
func (b *Bench) changeResponse(x *analysedAxis, gesture string, change func(*curves.Response) error) error {
	return b.changed(b.session.Change(x.label(), gesture, func(now *session.Axis) error {
		at := now.Chosen - 1
		if at < 0 {
			if err := add(now, session.Candidate{Axis: x.proposed.Profile}); err != nil {
				return err
			}
			at = now.Chosen - 1
		}
		axis, ok := x.rebased(now.Candidates[at].Axis)
		if !ok {
			return errors.New("this candidate was made for an axis of another kind; choose another one")
		}
		if err := change(&axis.Response); err != nil {
			return err
		}
		axis.Reasons = []string{"shaped by hand"}
		now.Candidates[at].Axis = axis
		return axis.Response.Check()
	}))
}

// add adds a candidate and chooses it. Without a name it gets one.
func add(now *session.Axis, c session.Candidate) error {
	if len(now.Candidates) >= session.MostCandidates {
		return fmt.Errorf("there are %d candidates beside the proposal already; choose one of them to shape, or take one away", session.MostCandidates)
	}
	for n := 1; c.Name == ""; n++ {
		name := fmt.Sprintf("by hand %d", n)
		if !slices.ContainsFunc(now.Candidates, func(o session.Candidate) bool { return o.Name == name }) {
			c.Name = name
		}
	}
	now.Candidates = append(now.Candidates, c)
	now.Chosen = len(now.Candidates)
	return nil
}

// copyCandidate adds a copy of the chosen candidate.
func (b *Bench) copyCandidate(x *analysedAxis) error {
	from := b.chosen(x)
	from.Name = ""
	return b.changed(b.session.Change(x.label(), "", func(now *session.Axis) error { return add(now, from) }))
}

// removeCandidate takes the chosen candidate away.
func (b *Bench) removeCandidate(x *analysedAxis) error {
	return b.changed(b.session.Change(x.label(), "", func(now *session.Axis) error {
		if now.Chosen == 0 {
			return errors.New("the proposal stays; choose a candidate of your own to take away")
		}
		now.Candidates = slices.Delete(now.Candidates, now.Chosen-1, now.Chosen)
		now.Chosen--
		return nil
	}))
}

// renameCandidate names the chosen candidate.
func (b *Bench) renameCandidate(x *analysedAxis, name string) error {
	name, err := session.CleanName(name)
	if err != nil {
		return err
	}
	return b.changed(b.session.Change(x.label(), "", func(now *session.Axis) error {
		if now.Chosen == 0 {
			return errors.New("the proposal keeps its name; choose a candidate of your own")
		}
		for i, c := range now.Candidates {
			if c.Name == name && i != now.Chosen-1 || name == proposalName {
				return fmt.Errorf("there is a candidate %q already; choose another name", name)
			}
		}
		now.Candidates[now.Chosen-1].Name = name
		return nil
	}))
}

// changed lets the live commands follow a change.
func (b *Bench) changed(err error) error {
	if err == nil {
		b.refreshResponses()
	}
	return err
}

// responses holds the chosen response of every axis by its label, for the live
// commands. It is replaced, never changed.
type responses struct {
	byLabel atomic.Pointer[map[string]curves.Response]
}

func (b *Bench) refreshResponses() {
	chosen := map[string]curves.Response{}
	if a := b.analysis.Load(); a != nil {
		for _, x := range a.axes {
			chosen[x.label()] = b.chosen(x).Axis.Response
		}
	}
	b.byLabel.Store(&chosen)
}

// response is the chosen response of a label, if it fits the kind.
func (r *responses) response(label string, kind curves.Kind) (curves.Response, bool) {
	chosen := r.byLabel.Load()
	if chosen == nil {
		return curves.Response{}, false
	}
	c, ok := (*chosen)[label]
	return c, ok && c.Kind == kind
}
