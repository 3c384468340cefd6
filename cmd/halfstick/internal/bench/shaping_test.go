package bench

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/curves"
	"halfstick/fit/measure"
	"halfstick/fit/propose"
	"halfstick/input"
)

func (d *desk) shape(wish map[string]any) *shapeView {
	d.t.Helper()
	var view shapeView
	if err := d.post("/axis/rudder/shape", wish, &view); err != nil {
		d.t.Fatal(err)
	}
	return &view
}

func number(t *testing.T, view *shapeView, name string) []string {
	t.Helper()
	for _, row := range view.Numbers {
		if strings.HasPrefix(row.Name, name) {
			return row.Values
		}
	}
	t.Fatalf("no number %q", name)
	return nil
}

func field(t *testing.T, view *shapeView, id string) string {
	t.Helper()
	for _, f := range view.Fields {
		if f.ID == id {
			return f.Value
		}
	}
	t.Fatalf("no field %q", id)
	return ""
}

// Dragging a handle gives the numbers that the fit and curves packages give by
// themselves for that response, and the curve that a profile of it has.
func TestDraggingGivesThePackagesNumbers(t *testing.T) {
	c := withRecording(t, config(t))
	d := run(t, c)
	x := d.analysis.Load().axis("rudder")
	px, py := x.areas[0].Place(6, 0) // 6 % deadband
	d.shape(map[string]any{"do": "move", "handle": "deadband-high", "x": px, "y": py, "gesture": "a"})
	d.shape(map[string]any{"do": "kind", "kind": "power"})
	view := d.shape(map[string]any{"do": "set", "field": "exponent", "text": "1.7"})
	if len(view.Candidates) != 2 || view.Chosen != 1 || view.Candidates[0].Name != "proposal" {
		t.Fatalf("candidates %+v, chosen %d", len(view.Candidates), view.Chosen)
	}

	// The same by the packages alone, from the file on.
	rec, err := input.Open(filepath.Join(c.Folder, "pedals.csv"))
	if err != nil {
		t.Fatal(err)
	}
	m, err := measure.Recording(rec, "pedals.csv")
	if err != nil {
		t.Fatal(err)
	}
	p, err := propose.Axes([]*input.Recording{rec}, []*measure.Measurement{m}, c.Options)
	if err != nil {
		t.Fatal(err)
	}
	var axis *propose.AxisProposal
	for i := range p.Axes {
		if p.Axes[i].Profile.Label == "rudder" {
			axis = &p.Axes[i]
		}
	}
	want := axis.Profile.Response
	want.Deadband.High, want.Low, want.High = 0.06, curves.Power{Exponent: 1.7}, curves.Power{Exponent: 1.7}
	effects, err := propose.NewEffects(axis, rec, c.Options)
	if err != nil {
		t.Fatal(err)
	}
	e, err := effects.Of(want)
	if err != nil {
		t.Fatal(err)
	}
	for name, value := range map[string]string{
		"share of the possible gain": wholePercent(e.Gain), "resolution share": text.Percent(e.ResolutionAfter),
		"command jitter at normal": text.PercentValue(e.Jitter[1].After), "false motions expected": perMinute(*e.FalseMotionsPerMinute),
		"false motions in the": text.Number(float64(e.FalseMotions), 0), "largest slope": text.Number(e.MaxSlope, 2),
		"command at half throw": sides(want.Command(-0.5), want.Command(0.5)),
	} {
		if got := number(t, view, name)[2]; got != value {
			t.Errorf("%s: %s on the page, %s by the packages", name, got, value)
		}
	}
	if !strings.Contains(view.Flown.Says, text.PercentValue(e.Flight.JitterRMS.After)+" through") {
		t.Errorf("the flight: %s, by the packages %s", view.Flown.Says, text.PercentValue(e.Flight.JitterRMS.After))
	}
	_, _, body := d.get("/profile.json")
	profile, err := curves.ParseProfile([]byte(body), "profile.json")
	if err != nil {
		t.Fatal(err)
	}
	got, err := profile.Axis("rudder")
	if err != nil || !reflect.DeepEqual(got.Response, want) {
		t.Errorf("the profile has %+v (%v), want %+v", got.Response, err, want)
	}
	table, err := want.Table(curves.TableOptions{Points: 11, Places: 1, Spacing: curves.Even})
	if err != nil {
		t.Fatal(err)
	}
	_, _, body = d.get("/axis/rudder/table?points=11")
	var shown tableView
	if err := json.Unmarshal([]byte(body), &shown); err != nil {
		t.Fatal(err)
	}
	for i, row := range shown.Rows {
		if row[2] != text.Number(100*table.Points[i].Command, 1) {
			t.Errorf("row %d of the table is %v, want %v", i, row, table.Points[i])
		}
	}
}

// Undo, redo, candidates and their names; and all of it after a restart.
func TestShapingSurvivesEverything(t *testing.T) {
	c := withRecording(t, config(t))
	d := run(t, c)
	proposed := field(t, d.shape(map[string]any{"do": "choose", "chosen": 0}), "deadband-low")
	view := d.shape(map[string]any{"do": "set", "field": "deadband-low", "text": "7.5"})
	if field(t, view, "deadband-low") != "7.50" || !view.Undo || view.Redo || view.Candidates[1].Name != "by hand 1" {
		t.Fatalf("after a change: %+v", view)
	}
	d.shape(map[string]any{"do": "name", "text": "<b>calm</b>"})
	d.shape(map[string]any{"do": "copy"})
	d.shape(map[string]any{"do": "nudge", "handle": "deadband-low", "right": -1, "gesture": "k"})
	view = d.shape(map[string]any{"do": "nudge", "handle": "deadband-low", "right": -1, "gesture": "k"})
	if got := field(t, view, "deadband-low"); got != "7.70" || len(view.Candidates) != 3 {
		t.Fatalf("two key presses made it %s", got)
	}
	if view = d.shape(map[string]any{"do": "undo"}); field(t, view, "deadband-low") != "7.50" || !view.Redo {
		t.Errorf("one gesture undone: %s", field(t, view, "deadband-low"))
	}
	view = d.shape(map[string]any{"do": "redo"})
	if view.Redo || field(t, view, "deadband-low") != "7.70" {
		t.Errorf("done again: %s", field(t, view, "deadband-low"))
	}
	view = d.shape(map[string]any{"do": "choose", "chosen": 0})
	if got := field(t, view, "deadband-low"); got != proposed {
		t.Errorf("the proposal's deadband became %s from %s", got, proposed)
	}
	d.shape(map[string]any{"do": "copy"})
	for _, wish := range []map[string]any{
		{"do": "copy"}, {"do": "fly"}, {"do": "set", "field": "deadband-low", "text": "wide"}, {"do": "choose", "chosen": 9},
		{"do": "name", "text": "proposal"}, {"do": "name", "text": "<b>calm</b>"}, {"do": "move", "handle": "x"}, {"do": "redo"}, {"do": "undo", "what": 1},
	} {
		if err := d.post("/axis/rudder/shape", wish, nil); err == nil || !strings.Contains(err.Error(), "422") {
			t.Errorf("%v: %v", wish, err)
		}
	}
	before := d.shape(map[string]any{"do": "choose", "chosen": 2})
	var at saved
	if err := d.post("/save", nil, &at); err != nil {
		t.Fatal(err)
	}
	if data, err := os.ReadFile(at.Path); err != nil || !strings.Contains(string(data), `"low": 0.077`) && !strings.Contains(string(data), `"low":0.077`) {
		t.Errorf("the saved profile is %s (%v)", data, err)
	}
	d.end()

	c.Prepare = func(context.Context) (string, error) { t.Error("the session was forgotten"); return "", nil }
	again := run(t, c)
	after := again.shape(map[string]any{"do": "choose", "chosen": 2})
	if field(t, after, "deadband-low") != "7.70" || !slices.EqualFunc(before.Candidates, after.Candidates, func(a, b candidateView) bool { return reflect.DeepEqual(a, b) }) {
		t.Errorf("after the restart: %+v", after.Candidates)
	}
	if view := again.shape(map[string]any{"do": "undo"}); len(view.Candidates) != 3 {
		t.Errorf("the way back is lost: %d candidates", len(view.Candidates))
	}
}

func BenchmarkShapeMove(b *testing.B) {
	d := run(b, withRecording(b, config(b)))
	x := d.analysis.Load().axis("rudder")
	for i := 0; b.Loop(); i++ {
		px, py := x.areas[0].Place(2+float64(i%400)/100, 0)
		if err := d.doShape(x, shapeWish{Do: "move", Handle: "deadband-high", X: px, Y: py, Gesture: "g"}); err != nil {
			b.Fatal(err)
		}
		if _, err := d.shapeOf(x); err != nil {
			b.Fatal(err)
		}
	}
}
