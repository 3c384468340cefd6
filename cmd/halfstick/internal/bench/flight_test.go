package bench

import (
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"halfstick/curves"
	"halfstick/input"
)

// A recorded flight goes with the recording: it is joined to it, and the
// response that was active is kept in it. Another recording can be looked at.
func TestAFlightGoesWithTheRecording(t *testing.T) {
	c := withRecording(t, config(t))
	clock := &input.JumpClock{}
	c.Clock = clock
	source := &pedals{}
	c.Open = func() (input.Source, error) { return source, nil }
	d := run(t, c)
	before := d.analysis.Load().axis("rudder").proposed.Demand.Minutes
	d.shape(map[string]any{"do": "set", "field": "deadband-low", "text": "7.5"})
	d.until("there is a rig", func() bool { return len(d.sampler.now().Devices) > 0 })
	if err := d.post("/flight", map[string]any{"do": "begin", "chosen": true}, nil); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/flight", "/guide"} {
		if err := d.post(path, map[string]any{"do": "begin"}, nil); err == nil || !strings.Contains(err.Error(), "under way") {
			t.Errorf("%s beside a flight: %v", path, err)
		}
	}
	begun := clock.Now()
	d.until("something was flown", func() bool { return clock.Now() > begun+60e9 })
	if err := d.post("/flight", map[string]any{"do": "end"}, nil); err != nil {
		t.Fatal(err)
	}

	d.until("the flight counts", func() bool {
		return len(d.session.Flights()) == 1 && d.analysis.Load().axis("rudder").proposed.Demand.Minutes > before+0.4
	})
	if err := d.post("/flight", map[string]any{"do": "end"}, nil); err == nil {
		t.Error("a flight was ended twice")
	}
	d.until("it is measured", func() bool { return d.stateNow().Busy == "" })
	rec, err := input.Open(d.session.Flights()[0])
	if err != nil {
		t.Fatal(err)
	}
	if n := len(rec.PhaseRanges(input.Flight, "rudder")); n != 1 || rec.Times.At(0) != 0 {
		t.Errorf("%d flights from %d µs", n, rec.Times.At(0))
	}
	col, err := rec.Find("rudder")
	if err != nil {
		t.Fatal(err)
	}
	var counts []int16
	for _, v := range rec.Columns[col].Changes(0, rec.Rows()) {
		counts = append(counts, v)
	}
	if slices.Min(counts) != -12000 || slices.Max(counts) != 12000 {
		t.Errorf("the rudder went from %d to %d", slices.Min(counts), slices.Max(counts))
	}
	flown, err := curves.ParseProfile(rec.Header.FlownWith, "flown")
	if err != nil {
		t.Fatal(err)
	}
	if a, err := flown.Axis("rudder"); err != nil || a.Response.Deadband.Low != 0.075 {
		t.Errorf("flown with %+v (%v)", a, err)
	}
	if s := d.stateNow(); s.Problem != "" || s.Flying || len(s.Others) != 1 {
		t.Errorf("after the flight: %+v", s)
	}

	if err := d.post("/recording", map[string]any{"name": "../pedals.csv"}, nil); err == nil {
		t.Error("a file outside the folder was opened")
	}
	data, _ := recorded()
	if err := os.WriteFile(c.Folder+"/other.csv", data, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := d.post("/recording", map[string]any{"name": "other.csv"}, nil); err != nil {
		t.Fatal(err)
	}
	d.until("the other is looked at", func() bool { return d.analysis.Load().file == "other.csv" })
}

// Flights with other controls belong to other recordings: they are named, and no
// problem. One that cannot be read is a problem.
func TestFlightsElsewhere(t *testing.T) {
	c := withRecording(t, config(t))
	d := run(t, c)
	flown := `# halfstick recording 1
# {"started":"2026-11-25T10:00:00Z","rate_hz":100,"source":"test","devices":[{"id":"stick","name":"Stick","guid":"","axes":[{"label":"pitch","index":0,"kind":"two-sided"}]}]}
t_us,phase,stick.pitch
0,flight,5
10000,flight,7
`
	for name, data := range map[string]string{"flight-1.csv": flown, "flight-2.csv": "nothing"} {
		if err := os.WriteFile(filepath.Join(c.Folder, name), []byte(data), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	looksAgain := func() stateView {
		t.Helper()
		before := d.stateNow().Measured
		if err := d.post("/recording", map[string]any{"name": "pedals.csv"}, nil); err != nil {
			t.Fatal(err)
		}
		d.until("it is measured anew", func() bool { s := d.stateNow(); return s.Measured > before && s.Busy == "" })
		return d.stateNow()
	}
	d.session.AddFlight("flight-1.csv")
	if s := looksAgain(); s.Problem != "" || !slices.Equal(s.Elsewhere, []string{"flight-1.csv"}) {
		t.Errorf("a flight with another control: problem %q, elsewhere %q", s.Problem, s.Elsewhere)
	}
	d.session.AddFlight("flight-2.csv")
	if s := looksAgain(); !strings.Contains(s.Problem, "flight-2.csv is left out") || len(s.Elsewhere) != 1 {
		t.Errorf("a flight that cannot be read: problem %q, elsewhere %q", s.Problem, s.Elsewhere)
	}
}

// pedals is a source with the axes of the recorded pedals, in another order,
// behind a device that was not recorded.
type pedals struct{ n int }

func (p *pedals) Describe() string { return "pedals" }

func (p *pedals) Devices() []input.Device {
	recorded := hostileSpecs()[0]
	d := input.Device{ID: recorded.ID, Name: recorded.Name, GUID: "0300000000000000000000000000000b"}
	for i, a := range recorded.Axes {
		d.Axes = append(d.Axes, input.Axis{Label: string(rune('x' + i)), Index: i, Kind: a.Kind})
	}
	return []input.Device{{ID: "other", Axes: []input.Axis{{Label: "rudder-trim", Kind: input.OneSided}}}, d}
}

func (p *pedals) Poll(counts []int16, present []bool) error {
	for i := range counts {
		counts[i], present[i] = int16(p.n%9000), true
	}
	time.Sleep(20 * time.Microsecond) // or the clock would jump through days before the flight is ended
	// The rudder, the first axis of the pedals, goes to and fro between ±12000.
	p.n++
	counts[1] = int16(24*min(p.n%1000, 1000-p.n%1000)*2 - 12000)
	return nil
}

func (p *pedals) Close() error { return nil }
