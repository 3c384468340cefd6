package guide_test

import (
	"slices"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/guide"
	"halfstick/input/rig"
)

// broken is a guided recording of pitch and roll that was stopped when a step
// of a kind had begun.
func broken(t *testing.T, kind guide.StepKind) *input.Recording {
	t.Helper()
	w := newWorld(t, stick(2), &rig.Live{Names: map[string]string{"nose": "pitch", "yaw": "roll"}}, guide.Options{Axes: []string{"nose", "yaw"}, Kinds: nil})
	w.see = func(_ time.Duration, s guide.State) {
		if s.Kind == kind && s.Progress > 0.3 {
			if err := w.session.Do(guide.Action{Kind: guide.Stop}); err != nil {
				t.Error(err)
			}
		}
	}
	w.run(t)
	if s := w.session.State(); !s.Stopped {
		t.Fatalf("not stopped: %+v", s)
	}
	return w.out.Recording()
}

// Whatever a broken-off recording has is not asked for again; with what is
// asked for, it measures like one that was not broken off.
func TestResume(t *testing.T) {
	for _, c := range []struct {
		at    guide.StepKind
		first guide.StepKind
		wake  bool
	}{{guide.Sweep, guide.Sweep, false}, {guide.Rest, guide.Rest, true}, {guide.Release, guide.Release, false}, {guide.Hold, guide.Hold, false}} {
		t.Run(string(c.at), func(t *testing.T) {
			done := broken(t, c.at)
			w := newWorld(t, stick(2), &rig.Live{}, guide.Options{Done: done})
			w.frozen = true
			var kinds []guide.StepKind
			woken := false
			w.see = func(_ time.Duration, s guide.State) {
				if len(kinds) == 0 || kinds[len(kinds)-1] != s.Kind {
					kinds = append(kinds, s.Kind)
				}
				woken = woken || s.Kind == guide.Rest && s.Column >= 0
			}
			w.run(t)
			if kinds[0] != c.first || slices.Contains(kinds, guide.Name) {
				t.Errorf("went on with %v, want %v first", kinds, c.first)
			}
			if woken != c.wake {
				t.Errorf("asked to move an axis before its rest: %v, want %v", woken, c.wake)
			}
			for _, a := range w.session.State().Axes {
				if len(a.Missing) > 0 {
					t.Errorf("%s misses %v", a.Label, a.Missing)
				}
			}
			joined, err := input.Join([]*input.Recording{done, w.out.Recording()}, []string{"one", "two"})
			if err != nil {
				t.Fatal(err)
			}
			w.out = input2(t, joined)
			if l := lacks(w.measured(t)); len(l) > 0 {
				t.Errorf("together they lack something: %q", l)
			}
		})
	}
}

// input2 collects a recording anew.
func input2(t *testing.T, rec *input.Recording) *input.Collector {
	t.Helper()
	c, err := input.NewCollector(rec.Header)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range rec.Stretches {
		for i := s.From; i < s.To; i++ {
			row := input.Row{AtUS: rec.Times.At(i), Phase: s.Phase}
			for _, col := range rec.Columns {
				row.Counts = append(row.Counts, col.At(i))
				row.Present = append(row.Present, col.PresentAt(i))
			}
			if err := c.Write(row); err != nil {
				t.Fatal(err)
			}
		}
	}
	return c
}

// A whole recording has nothing that is missing, and is over at once.
func TestResumeOfAWholeRecording(t *testing.T) {
	w := newWorld(t, stick(2), &rig.Live{}, guide.Options{Axes: []string{"pitch", "roll"}})
	w.run(t)
	w.complete(t)
	g, err := guide.New(guide.Options{Devices: w.Devices(), Done: w.out.Recording()})
	if err != nil {
		t.Fatal(err)
	}
	if s := g.State(); !s.Finished {
		t.Errorf("asks for %s of %s, with missing %+v", s.Kind, s.Axis, s.Axes)
	}
}

// What does not fit together is refused.
func TestResumeIsRefused(t *testing.T) {
	w := newWorld(t, stick(2), &rig.Live{}, guide.Options{Axes: []string{"pitch"}})
	w.run(t)
	done := w.out.Recording()
	other := w.Devices()
	other[0].GUID = "another"
	filtered := w.Devices()
	filtered[0].Axes[0].OSFilter = &input.OSFilter{Fuzz: 255}
	lifted := *done
	lifted.Header.Devices = slices.Clone(done.Header.Devices)
	lifted.Header.Devices[0].Axes = slices.Clone(lifted.Header.Devices[0].Axes)
	lifted.Header.Devices[0].Axes[0].OSFilter = &input.OSFilter{}
	unguided := *done
	unguided.Header.Devices = w.Devices()
	for name, o := range map[string]guide.Options{
		"another device":    {Devices: other, Done: done},
		"no device":         {Devices: stick2(t), Done: done},
		"filter not lifted": {Devices: filtered, Done: &lifted},
		"not guided":        {Devices: w.Devices(), Done: &unguided},
	} {
		if _, err := guide.New(o); err == nil {
			t.Errorf("%s: gone on with", name)
		}
	}
}

func stick2(t *testing.T) []input.Device {
	t.Helper()
	r, err := rig.New(rig.DefaultSpecs(1)[1:], 1)
	if err != nil {
		t.Fatal(err)
	}
	return r.Devices()
}
