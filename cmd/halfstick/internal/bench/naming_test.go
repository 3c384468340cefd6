package bench

import (
	"os"
	"path/filepath"
	"testing"

	"halfstick/curves"
	"halfstick/input"
)

func (d *desk) name(axis, label string, kind input.Kind) {
	d.t.Helper()
	if err := d.post("/name", map[string]any{"axis": axis, "label": label, "kind": kind}, nil); err != nil {
		d.t.Fatal(err)
	}
	d.until(axis+" is "+label, func() bool {
		s := d.stateNow()
		return s.Busy == "" && (s.Problem != "" || s.Renamed[axis] == label || axis == label)
	})
	if problem := d.stateNow().Problem; problem != "" {
		d.t.Fatal(problem)
	}
}

// A name goes into the recording, with its phases, and the candidates go along;
// a kind has the axis measured anew.
func TestNamingARecordedAxis(t *testing.T) {
	c := withRecording(t, config(t))
	d := run(t, c)
	d.shape(map[string]any{"do": "set", "field": "deadband-high", "text": "7.5"})
	before, err := input.Open(d.analysis.Load().path)
	if err != nil {
		t.Fatal(err)
	}
	d.name("rudder", "feet", input.TwoSided)
	after, err := input.Open(d.analysis.Load().path)
	if err != nil {
		t.Fatal(err)
	}
	if len(after.PhaseRanges(input.Sweep, "feet")) != len(before.PhaseRanges(input.Sweep, "rudder")) || len(after.PhaseRanges(input.Sweep, "rudder")) != 0 || after.Rows() != before.Rows() {
		t.Errorf("the phases did not go along: %v", after.Stretches)
	}
	x := d.analysis.Load().axis("feet")
	if x == nil || x.measured.Rest.Sigma == nil {
		t.Fatal("the axis is not measured under its new name")
	}
	if got := d.chosen(x).Axis; got.Response.Deadband.High != 0.075 || got.Label != "feet" {
		t.Errorf("the candidate is %+v", got)
	}
	for _, wrong := range []naming{
		{"feet", "left-brake", input.TwoSided}, {"feet", "two words", input.TwoSided}, {"feet", "", input.TwoSided},
		{"feet", "toes", "three-sided"}, {"nothing", "toes", input.TwoSided},
	} {
		if d.post("/name", wrong, nil) == nil {
			t.Errorf("%+v was taken", wrong)
		}
	}
	d.name("feet", "feet", input.OneSided)
	if x := d.analysis.Load().axis("feet"); x.proposed.Profile.Response.Kind != curves.OneSided {
		t.Errorf("it is %s", x.proposed.Profile.Response.Kind)
	}
}

// A flight goes along too, with the profile that it was flown with.
func TestNamingRenamesFlights(t *testing.T) {
	c := withRecording(t, config(t))
	p := &ports{}
	p.plug(device("pedals", "a", "b", "c"))
	c.Open = p.open
	d := run(t, c)
	data, err := recorded()
	if err != nil {
		t.Fatal(err)
	}
	profile, err := d.profile()
	if err != nil {
		t.Fatal(err)
	}
	rec, err := input.Open(d.analysis.Load().path)
	if err != nil {
		t.Fatal(err)
	}
	if rec.Header.FlownWith, err = profile.MarshalJSON(); err != nil {
		t.Fatal(err)
	}
	flight := filepath.Join(d.session.Folder(), "flight-1.csv")
	file, err := os.Create(flight)
	if err != nil {
		t.Fatal(err)
	}
	if err := rec.Write(file); err != nil || file.Close() != nil || len(data) == 0 {
		t.Fatal(err)
	}
	d.session.AddFlight("flight-1.csv")
	d.name("rudder", "feet", input.TwoSided)
	if rec, err = input.Open(flight); err != nil {
		t.Fatal(err)
	}
	flown, err := curves.ParseProfile(rec.Header.FlownWith, "flown_with")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := rec.Find("feet"); err != nil {
		t.Error(err)
	}
	if _, err := flown.Axis("feet"); err != nil {
		t.Error(err)
	}
}

// A recording that lies elsewhere is not changed: the session gets a copy. And
// what the bench was started with is there at the next start.
func TestRecordingFromElsewhere(t *testing.T) {
	data, err := recorded()
	if err != nil {
		t.Fatal(err)
	}
	elsewhere := filepath.Join(t.TempDir(), "mine.csv")
	if err := os.WriteFile(elsewhere, data, 0o600); err != nil {
		t.Fatal(err)
	}
	c := config(t)
	c.Begin = elsewhere
	d := run(t, c)
	d.until("it is measured", func() bool { return d.analysis.Load() != nil && d.stateNow().Busy == "" })
	d.end()

	c.Begin = ""
	d = run(t, c)
	d.until("it is measured at the next start", func() bool { return d.analysis.Load() != nil && d.stateNow().Busy == "" })
	if s := d.stateNow(); s.Recording != "mine.csv" || len(s.Others) != 1 {
		t.Errorf("the page is about %q of %v", s.Recording, s.Others)
	}
	d.name("rudder", "feet", input.TwoSided)
	if now, err := os.ReadFile(elsewhere); err != nil || string(now) != string(data) {
		t.Errorf("the recording that lies elsewhere was changed (%v)", err)
	}
	if path := d.analysis.Load().path; filepath.Dir(path) != d.session.Folder() || d.analysis.Load().axis("feet") == nil {
		t.Errorf("the copy is %s", path)
	}
}

// An axis that no recording has goes by its name at once, and the recordings to
// come have it.
func TestNamingALiveAxis(t *testing.T) {
	c := config(t)
	d := run(t, c)
	d.until("there is a rig", func() bool { return len(d.sampler.now().Devices) > 0 })
	d.name("right-brake", "lever", input.TwoSided)
	d.name("lever", "flaps", input.OneSided)
	if s := d.stateNow(); s.Devices[0].Axes[1] != (liveAxis{"flaps", input.OneSided}) || s.Renamed["right-brake"] != "flaps" {
		t.Errorf("the rig is %+v, renamed %v", s.Devices, s.Renamed)
	}
	if d.post("/name", naming{"flaps", "rudder", input.OneSided}, nil) == nil {
		t.Error("two axes have one name")
	}
	if err := d.post("/flight", map[string]any{"do": "begin"}, nil); err != nil {
		t.Fatal(err)
	}
	if d.post("/name", naming{"flaps", "gear", input.OneSided}, nil) == nil {
		t.Error("an axis was named while it is recorded")
	}
	if err := d.post("/flight", map[string]any{"do": "end"}, nil); err != nil {
		t.Fatal(err)
	}
	d.until("the flight is kept", func() bool { return len(d.session.Flights()) == 1 })
	flight := d.session.Flights()[0]
	d.end()
	rec, err := input.Open(flight)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := rec.Find("flaps"); err != nil {
		t.Error(err)
	}
	again := run(t, c)
	again.until("the name after a restart", func() bool {
		s := again.stateNow()
		return len(s.Devices) > 0 && s.Devices[0].Axes[1].Label == "flaps"
	})
}
