package session

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"halfstick/curves"
	"halfstick/input"
)

func open(t *testing.T, folder string) *Session {
	t.Helper()
	s, err := Open(folder)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

func closed(t *testing.T, s *Session) {
	t.Helper()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
}

// add adds a candidate with an exponent, or changes the first one's.
func set(exponent float64) func(*Axis) error {
	return func(a *Axis) error {
		r := curves.StraightThrough(curves.TwoSided)
		r.Low, r.High = curves.Power{Exponent: exponent}, curves.Power{Exponent: exponent}
		c := Candidate{Name: "mine", Axis: curves.ProfileAxis{Label: "rudder", Response: r}}
		if len(a.Candidates) == 0 {
			a.Candidates = append(a.Candidates, c)
		}
		a.Candidates[0], a.Chosen = c, 1
		return nil
	}
}

func exponent(t *testing.T, s *Session) float64 {
	t.Helper()
	now, _, _ := s.Axis("rudder")
	if len(now.Candidates) == 0 {
		return 0
	}
	return now.Candidates[0].Axis.Response.High.(curves.Power).Exponent
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}

// What was done is there again after a restart, with the way back and forth.
func TestNothingIsLostByARestart(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "bench")
	s := open(t, folder)
	s.SetRecording("rig.csv")
	must(t, s.Change("rudder", "", set(1.5)))
	must(t, s.Change("rudder", "", set(1.7)))
	must(t, s.Undo("rudder"))
	closed(t, s)
	s = open(t, folder)
	defer closed(t, s)
	if got := exponent(t, s); got != 1.5 {
		t.Errorf("exponent %g after the restart, want 1.5", got)
	}
	if s.Recording() != filepath.Join(folder, "rig.csv") {
		t.Errorf("recording %q", s.Recording())
	}
	must(t, s.Redo("rudder"))
	if got := exponent(t, s); got != 1.7 {
		t.Errorf("exponent %g done again, want 1.7", got)
	}
	must(t, s.Undo("rudder"))
	must(t, s.Undo("rudder"))
	if now, undo, redo := s.Axis("rudder"); len(now.Candidates) != 0 || now.Chosen != 0 || undo || !redo {
		t.Errorf("back at the beginning: %+v, %v, %v", now, undo, redo)
	}
	if s.Undo("rudder") == nil || s.Undo("pitch") == nil {
		t.Error("a step before the first")
	}
}

// A drag is one step; two drags are two.
func TestAGestureIsOneStep(t *testing.T) {
	s := open(t, t.TempDir())
	defer closed(t, s)
	for i := range 50 {
		must(t, s.Change("rudder", "drag-1", set(1+float64(i)/50)))
	}
	must(t, s.Change("rudder", "drag-2", set(2)))
	must(t, s.Undo("rudder"))
	if got := exponent(t, s); got != 1+49.0/50 {
		t.Errorf("exponent %g after one step back, want that of the first drag's end", got)
	}
	must(t, s.Undo("rudder"))
	if got := exponent(t, s); got != 0 {
		t.Errorf("exponent %g after two steps back", got)
	}
	must(t, s.Redo("rudder"))
	must(t, s.Change("rudder", "", set(3)))
	if s.Redo("rudder") == nil {
		t.Error("a way forth was kept though something else was done")
	}
	for i := range 3 * steps {
		must(t, s.Change("rudder", "", set(1+0.01*float64(i))))
	}
	back := 0
	for s.Undo("rudder") == nil {
		back++
	}
	if back != steps {
		t.Errorf("%d steps back, want %d", back, steps)
	}
}

// What goes wrong changes nothing, and choosing is no step.
func TestChangesThatFail(t *testing.T) {
	s := open(t, t.TempDir())
	defer closed(t, s)
	must(t, s.Change("rudder", "", set(1.5)))
	before := s.Revision()
	wrong := errors.New("no")
	if err := s.Change("rudder", "", func(a *Axis) error { a.Candidates[0].Name = "spoilt"; return wrong }); !errors.Is(err, wrong) {
		t.Errorf("%v", err)
	}
	if now, _, _ := s.Axis("rudder"); now.Candidates[0].Name != "mine" || s.Revision() != before {
		t.Errorf("a change that failed left %+v", now)
	}
	must(t, s.Choose("rudder", 0))
	if s.Choose("rudder", 2) == nil || s.Choose("rudder", -1) == nil || s.Choose("pitch", 1) == nil {
		t.Error("what is not there was chosen")
	}
	must(t, s.Undo("rudder"))
	if now, _, _ := s.Axis("rudder"); len(now.Candidates) != 0 {
		t.Error("choosing was a step")
	}
}

// A session that cannot be understood is left alone and said so.
func TestBrokenSessions(t *testing.T) {
	for what, text := range map[string]string{
		"no JSON": "{", "another format": `{"format":"x"}`, "null axis": `{"format":"halfstick bench 1","axes":{"a":null}}`,
		"chosen beyond": `{"format":"halfstick bench 1","axes":{"a":{"now":{"chosen":1}}}}`,
		"elsewhere":     `{"format":"halfstick bench 1","recording":"../x.csv"}`,
	} {
		folder := t.TempDir()
		path := filepath.Join(folder, file)
		must(t, os.WriteFile(path, []byte(text), 0o600))
		if _, err := Open(folder); err == nil || !strings.Contains(err.Error(), path) {
			t.Errorf("%s: %v", what, err)
		}
		if kept, _ := os.ReadFile(path); string(kept) != text {
			t.Errorf("%s: the file was changed", what)
		}
	}
}

func TestNames(t *testing.T) {
	for in, want := range map[string]string{" by\thand\n2 ": "by hand 2", "<b>": "<b>", strings.Repeat("ä", 32): strings.Repeat("ä", 32)} {
		if got, err := CleanName(in); err != nil || got != want {
			t.Errorf("%q became %q, %v", in, got, err)
		}
	}
	for _, in := range []string{"", " \x00", strings.Repeat("a", 33)} {
		if got, err := CleanName(in); err == nil {
			t.Errorf("%q became %q", in, got)
		}
	}
}

// A recording elsewhere is kept by its whole path, one in the folder by its name;
// names of axes and the recording under way are there after a restart.
func TestRecordingsAndNames(t *testing.T) {
	folder := t.TempDir()
	s := open(t, folder)
	s.SetRecording(filepath.Join(folder, "mine.csv"))
	if s.content.Recording != "mine.csv" || s.Recording() != filepath.Join(folder, "mine.csv") {
		t.Errorf("in the folder: kept as %q, at %q", s.content.Recording, s.Recording())
	}
	s.SetRecording(filepath.Join("other", "rig.csv"))
	s.SetGuided("recording-1.csv")
	s.SetName(AxisName{Device: "stick", Index: 1, Label: "pitch", Kind: input.TwoSided})
	s.SetName(AxisName{Device: "stick", Index: 1, Label: "gear", Kind: input.OneSided})
	must(t, s.Change("rudder", "", set(1.5)))
	s.Rename("rudder", "feet")
	closed(t, s)
	s = open(t, folder)
	if here, _ := filepath.Abs(filepath.Join("other", "rig.csv")); s.Recording() != here {
		t.Errorf("elsewhere: %q", s.Recording())
	}
	if s.Guided() != filepath.Join(folder, "recording-1.csv") {
		t.Errorf("under way: %q", s.Guided())
	}
	if names := s.Names(); len(names) != 1 || names[0].Label != "gear" {
		t.Errorf("names: %v", names)
	}
	if now, undo, _ := s.Axis("feet"); len(now.Candidates) != 1 || !undo || exponent(t, s) != 0 {
		t.Errorf("after the renaming: %+v", now)
	}
	closed(t, s)
	for _, wrong := range []string{
		`"recording": "../x.csv"`, `"guided": "/x.csv"`, `"flights": ["a/b.csv"]`,
		`"names": [{"device": "stick", "index": 0, "label": "two words", "kind": "two-sided"}]`,
		`"names": [{"device": "stick", "index": 0, "label": "pitch", "kind": "round"}]`,
	} {
		must(t, os.WriteFile(filepath.Join(folder, file), []byte(`{"format": "`+format+`", `+wrong+`}`), 0o600))
		if _, err := Open(folder); err == nil {
			t.Errorf("%s was taken", wrong)
		}
	}
}
