package guide_test

import (
	"testing"
	"time"

	"pgregory.net/rapid"

	"halfstick/input"
	"halfstick/input/guide"
	"halfstick/input/rig"
)

// act leads through pitch and roll and does something once, at a step.
func act(t *testing.T, kind guide.StepKind, a guide.Action) (w *world, before, after guide.State) {
	t.Helper()
	w = newWorld(t, stick(2), &rig.Live{}, guide.Options{Axes: []string{"pitch", "roll"}})
	acted := false
	w.see = func(_ time.Duration, s guide.State) {
		if acted || s.Kind != kind || s.Progress < 0.3 {
			return
		}
		acted = true
		before = s
		if err := w.session.Do(a); err != nil {
			t.Error(err)
		}
		after = w.session.State()
	}
	w.run(t)
	if !acted {
		t.Fatalf("no step %s was met", kind)
	}
	return w, before, after
}

func TestActions(t *testing.T) {
	t.Run("repeat", func(t *testing.T) {
		w, before, after := act(t, guide.Rest, guide.Action{Kind: guide.Repeat})
		if after.Step != before.Step || after.Progress != 0 || after.Attempt == before.Attempt || after.Changes == before.Changes {
			t.Errorf("%+v after %+v", after, before)
		}
		w.complete(t)
	})
	t.Run("skip", func(t *testing.T) {
		w, before, after := act(t, guide.Rest, guide.Action{Kind: guide.Skip})
		if after.Step != before.Step+1 || after.Verdict != guide.LeftOut {
			t.Errorf("%+v after %+v", after, before)
		}
		if m := w.session.State().Axes[0].Missing; len(m) != 1 || m[0] != guide.Rest {
			t.Errorf("misses %v, want the rest", m)
		}
	})
	t.Run("back", func(t *testing.T) {
		w, before, after := act(t, guide.Rest, guide.Action{Kind: guide.Back})
		if after.Step != before.Step-1 || after.Kind != guide.Sweep {
			t.Errorf("%+v after %+v", after, before)
		}
		w.complete(t)
	})
	t.Run("stop", func(t *testing.T) {
		w, _, after := act(t, guide.Rest, guide.Action{Kind: guide.Stop})
		if !after.Finished || !after.Stopped || after.Kind != guide.End {
			t.Errorf("%+v", after)
		}
		select {
		case <-w.session.Done():
		default:
			t.Error("the session is not done")
		}
		if err := w.session.Do(guide.Action{Kind: guide.Repeat}); err == nil {
			t.Error("a finished guide repeats")
		}
	})
}

// While controls are named, a name can be typed, a kind turned and a name
// taken back.
func TestNaming(t *testing.T) {
	hand := &rig.Live{Names: map[string]string{"nose": "pitch"}}
	w := newWorld(t, rig.DefaultSpecs(1)[:1], hand, guide.Options{})
	did := map[string]bool{}
	once := func(name string, when bool, a guide.Action) {
		if when && !did[name] {
			did[name] = true
			if err := w.session.Do(a); err != nil {
				t.Errorf("%s: %v", name, err)
			}
		}
	}
	w.see = func(_ time.Duration, s guide.State) {
		once("call", s.Step == 1, guide.Action{Kind: guide.Label, Label: "nose"})
		once("turn", s.Step == 3 && s.Kind == guide.Name, guide.Action{Kind: guide.Turn})
		if s.Step == 3 && did["turn"] && !did["bad"] {
			did["bad"] = true
			for _, label := range []string{"nose", "a:b", ""} {
				if err := w.session.Do(guide.Action{Kind: guide.Label, Label: label}); err == nil {
					t.Errorf("a control may be called %q", label)
				}
			}
		}
	}
	w.run(t)
	axes := w.session.State().Axes
	if axes[0].Label != "nose" || axes[0].Column != 0 || axes[1].Label != "roll" || axes[1].Kind != input.OneSided {
		t.Errorf("named %+v", axes)
	}
	if _, err := w.out.Recording().Find("nose"); err != nil {
		t.Error(err)
	}
}

// A name that is taken back can be given again.
func TestNamingBack(t *testing.T) {
	w := newWorld(t, stick(2), &rig.Live{}, guide.Options{})
	went := false
	w.see = func(_ time.Duration, s guide.State) {
		if s.Step == 2 && s.Kind == guide.Name && !went {
			went = true
			if err := w.session.Do(guide.Action{Kind: guide.Back}); err != nil {
				t.Error(err)
			}
			if s := w.session.State(); s.Step != 1 || len(s.Axes) != 0 {
				t.Errorf("one step back: %+v", s)
			}
		}
	}
	w.run(t)
	w.complete(t)
	if a := w.session.State().Axes; !went || len(a) != 2 || a[0].Label != "pitch" || a[1].Label != "roll" {
		t.Errorf("named %+v", a)
	}
}

// A label that is typed before it is offered is not offered again: the control
// that was asked for is asked for next.
func TestTypedLabelIsOfferedLater(t *testing.T) {
	for _, axes := range [][]string{nil, {"bow", "roll"}} {
		specs := stick(2)
		specs[0].Axes[0].Label, specs[0].Axes[1].Label = "x", "y"
		w := newWorld(t, specs, &rig.Live{Names: map[string]string{"roll": "x", "pitch": "y", "bow": "y"}}, guide.Options{Axes: axes})
		first, second := "", ""
		w.see = func(_ time.Duration, s guide.State) {
			switch {
			case s.Kind != guide.Name:
			case s.Step == 1 && first == "":
				first = s.Axis
				if err := w.session.Do(guide.Action{Kind: guide.Label, Label: "roll"}); err != nil {
					t.Error(err)
				}
			case s.Step == 2 && second == "":
				second = s.Axis
			}
		}
		w.run(t)
		if second != first {
			t.Errorf("after another label for %s the guide asked for %q", first, second)
		}
		a := w.session.State().Axes
		if len(a) != 2 || a[0].Label != "roll" || a[0].Column != 0 || a[1].Label != first || a[1].Column != 1 {
			t.Errorf("named %+v", a)
		}
	}
}

// A label that another axis came with may be given to a control: the other one
// is called otherwise.
func TestNameTakenFromAnother(t *testing.T) {
	for _, at := range []int{0, 1} {
		specs := stick(2)
		specs[0].Axes[0].Label, specs[0].Axes[1].Label = "x", "y"
		moved, other := specs[0].Axes[1-at].Label, specs[0].Axes[at].Label
		w := newWorld(t, specs, &rig.Live{Names: map[string]string{other: moved}}, guide.Options{Axes: []string{"trim"}})
		w.see = func(_ time.Duration, s guide.State) {
			if s.Kind == guide.Name && s.Axis == "trim" {
				if err := w.session.Do(guide.Action{Kind: guide.Label, Label: other}); err != nil {
					t.Error(err)
				}
			}
		}
		w.run(t)
		axes := w.out.Recording().Header.Devices[0].Axes
		if axes[1-at].Label != other || axes[at].Label != other+"-2" {
			t.Errorf("%s called %s: the axes are called %s and %s", moved, other, axes[0].Label, axes[1].Label)
		}
	}
}

// Whatever the rows and whatever is pressed, nothing panics, and every row
// that is written is a valid one of the recording.
func TestAnyRowsAndKeys(t *testing.T) {
	actions := []guide.ActionKind{guide.Repeat, guide.Skip, guide.Back, guide.Label, guide.Turn, guide.Stop, "nonsense"}
	labels := []string{"pitch", "roll", "x", "a b", "", "lever"}
	rapid.Check(t, func(t *rapid.T) {
		devices := []input.Device{
			{ID: "a", Name: "A", Axes: []input.Axis{{Label: "x", Kind: input.TwoSided}, {Label: "y", Index: 1, Kind: input.OneSided}}},
			{ID: "b", Name: "B", Axes: []input.Axis{{Label: "z", Kind: input.TwoSided}}},
		}
		needs := guide.DefaultNeeds
		needs.RestSeconds, needs.HoldSeconds, needs.Patience, needs.NamePatience, needs.AbsentPatience = 1, 0.2, 2, 1, 2
		o := guide.Options{Devices: devices, Needs: needs, Axes: rapid.SampledFrom([][]string{nil, {"x"}, {"x", "b.z"}, {"roll"}, {"y", "trim"}}).Draw(t, "axes")}
		var out *input.Collector
		s, err := guide.NewSession(o, func(d []input.Device) (w input.RowWriter, err error) {
			out, err = input.NewCollector(input.Header{RateHz: 20, Source: "test", Devices: d})
			return out, err
		})
		if err != nil {
			t.Fatal(err)
		}
		row := input.Row{Counts: make([]int16, 3), Present: []bool{true, true, true}}
		speed := make([]int, 3)
		for range rapid.IntRange(1, 40).Draw(t, "pieces") {
			if rapid.IntRange(0, 9).Draw(t, "key") == 0 {
				a := guide.Action{Kind: rapid.SampledFrom(actions).Draw(t, "action"), Label: rapid.SampledFrom(labels).Draw(t, "label")}
				_ = s.Do(a) // may be refused
			}
			for c := range speed {
				speed[c] = rapid.SampledFrom([]int{0, 0, 300, -300, 3000, -3000, 30000}).Draw(t, "speed")
				row.Present[c] = rapid.IntRange(0, 19).Draw(t, "present") > 0
			}
			gap := rapid.SampledFrom([]int64{1000, 20_000, 60_000, 5_000_000}).Draw(t, "gap")
			for range 60 {
				row.AtUS += gap
				for c := range speed {
					row.Counts[c] = int16(min(32767, max(-32768, int(row.Counts[c])+speed[c])))
				}
				if err := s.Write(row); err != nil {
					t.Fatalf("a row was refused: %v", err)
				}
				state := s.State()
				labels := map[string]bool{}
				for _, a := range state.Axes {
					if labels[a.Label] {
						t.Fatalf("two axes are called %s: %+v", a.Label, state.Axes)
					}
					labels[a.Label] = true
				}
				if p := state.Position; p != nil && !(*p >= 0 && *p <= 1) || !(state.Progress >= 0 && state.Progress <= 1) || state.Step > state.Steps {
					t.Fatalf("shows %+v", state)
				}
			}
		}
		if out != nil && s.State().Finished && out.Recording().Rows() == 0 {
			t.Fatal("a recording was opened and nothing written")
		}
	})
}
