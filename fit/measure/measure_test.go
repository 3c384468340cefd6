package measure

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"halfstick/input"
)

func TestNothingToMeasure(t *testing.T) {
	for name, rec := range map[string]*input.Recording{
		"nil":     nil,
		"empty":   {},
		"no rows": {Header: input.Header{Devices: []input.Device{{ID: "d", Axes: []input.Axis{{Label: "a"}}}}}, Columns: []input.Column{{}}},
	} {
		if m, err := Recording(rec, name); err == nil {
			t.Errorf("%s: no error but %+v", name, m)
		}
	}
}

func TestOnlyRest(t *testing.T) {
	d := usual()
	a := d.measure(t, resting(20, 2000))
	if a.Rest.Sigma == nil {
		t.Fatal("20 s of rest and no σ")
	}
	if a.Travel.Low != nil || a.Travel.High != nil || a.Sweep.Hysteresis != nil || a.NoiseFreeLevels != nil || a.Return.Gap != nil {
		t.Errorf("without a sweep: %+v %+v", a.Travel, a.Sweep)
	}
	if f := code(a, "too-little-data"); f == nil || !strings.Contains(f.Says, "sweeps") || !strings.Contains(f.Says, "releases") {
		t.Errorf("too-little-data: %+v", f)
	}
	if len(a.Plots.RestCounts) != 20*500 || len(a.Plots.RestSeconds) != len(a.Plots.RestCounts) {
		t.Errorf("%d samples for the figure", len(a.Plots.RestCounts))
	}
}

func TestNoRest(t *testing.T) {
	d := usual()
	a := d.measure(t, sweeping(100, 4000, 4, 3))
	if a.Rest.Sigma != nil || a.Rest.DriftPerMinute != nil || a.Rest.SpikesPerMinute != nil {
		t.Errorf("no rest but %+v", a.Rest)
	}
	if a.Travel.Low == nil || a.Sweep.Hysteresis == nil {
		t.Errorf("three sweeps and %+v, %+v", a.Travel, a.Sweep)
	}
	if f := code(a, "too-little-data"); f == nil || !strings.Contains(f.Says, "8 s more of rest") {
		t.Errorf("too-little-data: %+v", f)
	}
	if code(a, "steady") != nil {
		t.Error("called steady without having rested")
	}
}

// An axis that never moved may be held by the input library: unknown, never 0.
func TestUnmovedIsUnknown(t *testing.T) {
	d := usual()
	d.sigma = 0
	a := d.measure(t, resting(20, 2000))
	if a.Rest.Sigma != nil {
		t.Errorf("σ %+v of an axis that never moved", a.Rest.Sigma)
	}
	if len(a.Notes) == 0 || !strings.Contains(strings.Join(a.Notes, " "), "unknown") {
		t.Errorf("notes %q", a.Notes)
	}
}

// Quiet below the step: the interval must reach down to 0 and not above half
// a step, and noise-free levels have no upper bound.
func TestQuieterThanAStep(t *testing.T) {
	d := usual()
	d.sigma = 0.02
	a := d.measure(t, d.whole()...)
	step := 65535.0 / 4095
	if s := a.Rest.Sigma; s == nil || s.Low == nil || *s.Low > 0.02*step || *s.High < 0.02*step || *s.High > 0.5*step {
		t.Errorf("σ %+v of 0.02 steps (%.2f counts)", s, 0.02*step)
	}
}

func TestHealthyIsSteady(t *testing.T) {
	d := usual()
	d.sigma = 1
	a := d.measure(t, d.whole()...)
	for _, f := range a.Findings {
		if f.Severity != Good {
			t.Errorf("%s %s: %s", f.Severity, f.Code, f.Says)
		}
	}
	if code(a, "steady") == nil {
		t.Error("not called steady")
	}
	step := 65535.0 / 4095
	if q := a.NoiseFreeLevels; q == nil || math.Abs(q.Value-0.94*65535/(6.6*1*step)) > 0.05*q.Value {
		t.Errorf("noise-free levels %+v", q)
	}
	if q := a.Travel.UsedShare; q == nil || math.Abs(q.Value-94) > 0.1 {
		t.Errorf("used share %+v, want 94", q)
	}
	if q := a.Travel.Centre; q == nil || math.Abs(q.Value-(0.5*4095*step-32768)) > step {
		t.Errorf("centre %+v", q)
	}
}

// Spikes, drift and what the system hides.
func TestSpikesAndDrift(t *testing.T) {
	d := usual()
	parts := d.whole()
	parts[3] = part{phase: input.Phase{Kind: input.Rest}, seconds: 40, at: func(t float64) float64 {
		v := 2047 + 20*t/60
		if s := math.Mod(t, 6); t > 3 && s < 1.5/125 {
			v += 60
		}
		return v
	}}
	rec := d.record(parts...)
	rec.Header.Devices[0].Axes[0].OSFilter = &input.OSFilter{Fuzz: 15, Flat: 255}
	m, err := Recording(rec, "spikes")
	if err != nil {
		t.Fatal(err)
	}
	a := &m.Axes[0]
	step := 65535.0 / 4095
	// Six spikes in 39.5 s of rest and 10.4 s of the settled ends of releases.
	if q := a.Rest.SpikesPerMinute; q == nil || math.Abs(q.Value-7.2) > 0.2 {
		t.Errorf("spikes %+v, want 7.2 a minute", q)
	}
	if q := a.Rest.DriftPerMinute; !has(q, 20*step) || math.Abs(q.Value-20*step) > 0.05*20*step {
		t.Errorf("drift %+v, want %.0f", q, 20*step)
	}
	if q := a.Rest.Sigma; q == nil || math.Abs(q.Value/(1.5*step)-1) > 0.05 {
		t.Errorf("σ %+v, want %.1f", q, 1.5*step)
	}
	if q := a.Rest.SigmaOrdinary; q.Value < 1.3*a.Rest.Sigma.Value {
		t.Errorf("the ordinary deviation %.1f does not show the spikes", q.Value)
	}
	if f := code(a, "spikes"); f == nil || f.Severity != Repair {
		t.Errorf("spikes: %+v", f)
	}
	if f := code(a, "drift"); f == nil {
		t.Error("drift not found")
	}
	if f := code(a, "hidden-by-system"); f == nil {
		t.Error("the system's filter is not told")
	}
	for left, advice := range map[string]string{
		input.LeftAsked:                         "without --keep-system-filter",
		"permission denied; allow it with: x y": "could not be lifted for the recording: permission denied; allow it with: x y.",
	} {
		rec.Header.Devices[0].Axes[0].OSFilter.Left = left
		m, err := Recording(rec, "spikes")
		if err != nil {
			t.Fatal(err)
		}
		if f := code(&m.Axes[0], "hidden-by-system"); f == nil || !strings.Contains(f.Advice, advice) {
			t.Errorf("the filter was left, %s: %+v", left, f)
		}
	}
	for i := 1; i < len(a.Findings); i++ {
		if rank[a.Findings[i-1].Severity] > rank[a.Findings[i].Severity] {
			t.Errorf("%s before %s", a.Findings[i-1].Code, a.Findings[i].Code)
		}
	}
}

// 43 CFR 3175.135(a): hysteresis is the largest difference of ascending and
// descending readings for one input. Ways at an even pace whose ascending
// reading bulges by 40 steps over the descending one must give 40 steps.
func TestHysteresisDefinition(t *testing.T) {
	d := usual()
	s := sweeping(100, 4000, 4, 3)
	base := s.at
	s.at = func(t float64) float64 {
		share := (base(t) - 100) / 3900
		bulge := 20 * math.Sin(math.Pi*share)
		if math.Mod(t, 8) < 4 {
			return base(t) + bulge
		}
		return base(t) - bulge
	}
	a := d.measure(t, pause(0.5, 2047), s, pause(0.5, 2047), resting(10, 2047))
	want := 40 * 65535.0 / 4095
	if q := a.Sweep.Hysteresis; q == nil || math.Abs(q.Value-want) > 0.1*want || !has(q, want) {
		t.Errorf("hysteresis %+v, want %.0f", q, want)
	}
}

// A play operator of half-gap b (Gelb and Vander Velde 1968) shows 2b between
// its ascending and descending returns.
func TestGapOfPlay(t *testing.T) {
	d := usual()
	parts := []part{pause(0.5, 2000), sweeping(100, 4000, 4, 2), pause(0.5, 2000), resting(10, 2000)}
	for range 4 {
		parts = append(parts, pause(0.3, 2000), releasing(input.ReleaseLow, 100, 1985), pause(0.3, 2000), releasing(input.ReleaseHigh, 4000, 2015))
	}
	a := d.measure(t, parts...)
	want := 30 * 65535.0 / 4095
	if q := a.Return.Gap; q == nil || math.Abs(q.Value-want) > 8 || q.N != 8 {
		t.Errorf("gap %+v, want %.0f", q, want)
	}
	// The fall is exponential with 50 ms: 90 % to 0.5 % of half-throw takes
	// 50·ln(0.9/0.005) = 260 ms.
	if q := a.Return.FromHigh.Seconds; math.Abs(q.Value-0.26) > 0.05 {
		t.Errorf("%.3f s to rest, want 0.26", q.Value)
	}
}

func TestStallFound(t *testing.T) {
	d := usual()
	s := sweeping(100, 4000, 4, 3)
	base := s.at
	s.at = func(t float64) float64 {
		if t > 6 && t < 6.25 {
			return base(6)
		}
		return base(t)
	}
	d.sigma = 0.001 // a device that sends nothing repeats its last report
	a := d.measure(t, pause(0.5, 2047), s, pause(0.5, 2047), resting(10, 2047))
	if q := a.Timing.LongestStallMS; q == nil || math.Abs(q.Value-254) > 8 {
		t.Errorf("longest stall %+v, want some 254 ms", q)
	}
	if f := code(a, "stalls"); f == nil || f.Severity != Repair {
		t.Errorf("%+v", a.Findings)
	}
}

// An axis that changes too seldom for a report rate still shows a stall.
func TestStallWithoutAReportRate(t *testing.T) {
	rec := rows(3000, 1000, input.Stretch{Phase: input.Phase{Kind: input.Sweep}, To: 3000})
	edit(rec, func(i int, row *input.Row) bool {
		if i > 1200 && i < 1500 {
			i = 1200
		}
		row.Counts[0] = int16(64*(i/3) - 32000)
		return true
	})
	a := &analysis{step: 64, series: newSeries(newTrack(rec), 0)}
	if q := a.longestStall(); q == nil || math.Abs(q.Value-300) > 4 {
		t.Errorf("longest stall %+v, want some 300 ms", q)
	}
}

func TestPlateauFound(t *testing.T) {
	d := usual()
	s := sweeping(100, 4000, 4, 3)
	base := s.at
	s.at = func(t float64) float64 { // the track is dead from 2600 to 2750
		v := base(t)
		if v > 2600 && v < 2750 {
			return 2600
		}
		if v >= 2750 {
			return v - 150
		}
		return v
	}
	a := d.measure(t, pause(0.5, 2047), s, pause(0.5, 2047), resting(10, 2047))
	if len(a.Sweep.Plateaus) != 1 {
		t.Fatalf("plateaus %+v", a.Sweep.Plateaus)
	}
	p := a.Sweep.Plateaus[0]
	u := (2600 - 2047.0) / (3850 - 2047)
	width := 150 / 1850.0
	if math.Abs((p.From+p.To)/2-u) > 0.02 || math.Abs(p.To-p.From-width) > 0.3*width {
		t.Errorf("plateau %+v, want %.3f wide at %.3f", p, width, u)
	}
	if code(a, "plateau") == nil {
		t.Error("no finding")
	}
}

func TestMeasurementJSON(t *testing.T) {
	d := usual()
	m, err := Recording(d.record(d.whole()...), "x.csv")
	if err != nil {
		t.Fatal(err)
	}
	b, err := json.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{`"format":"halfstick measurement 1"`, `"recording":"x.csv"`, `"used_share"`, `"seconds_to_rest"`, `"jumps_per_sweep"`} {
		if !strings.Contains(string(b), want) {
			t.Errorf("no %s in %.200s", want, b)
		}
	}
	if _, err := m.Axis("dev.axis"); err != nil {
		t.Error(err)
	}
	if _, err := m.Axis("other"); err == nil {
		t.Error("found an axis that is not there")
	}
}

// u is −1, 0 and 1 at the stops and the centre, wherever these are.
func TestPosition(t *testing.T) {
	a := &analysis{out: &Axis{Kind: string(input.TwoSided)}, low: -30000, high: 20000, centreAt: -2000, hasTravel: true, hasCentre: true}
	for counts, want := range map[float64]float64{-30000: -1, -16000: -0.5, -2000: 0, 9000: 0.5, 20000: 1} {
		if u := a.position(counts); math.Abs(u-want) > 1e-12 {
			t.Errorf("position of %v: %v, want %v", counts, u, want)
		}
	}
	a.out.Kind = string(input.OneSided)
	if u := a.position(-5000); math.Abs(u-0.5) > 1e-12 {
		t.Errorf("one-sided: %v, want 0.5", u)
	}
}

// A second axis that moves by a tenth of its travel, and one that does not.
func TestCouplingFound(t *testing.T) {
	d := usual()
	rec := d.record(d.whole()...)
	for i, label := range []string{"second", "third"} {
		rec.Header.Devices[0].Axes = append(rec.Header.Devices[0].Axes, input.Axis{Label: label, Kind: input.TwoSided})
		c := input.Column{Axis: i + 1}
		for row := range rec.Rows() {
			v := rec.Columns[0].At(row)
			c.Append(int16(math.Round(0.2*float64(1-i)*float64(v)))+int16(v&1), true)
		}
		rec.Columns = append(rec.Columns, c)
	}
	m, err := Recording(rec, "coupled")
	if err != nil {
		t.Fatal(err)
	}
	a := &m.Axes[0]
	if len(a.Coupling) != 2 {
		t.Fatalf("%+v", a.Coupling)
	}
	// 0.2 of the counts over 94 % of the scale: 18.8 % of the other's scale.
	if q := a.Coupling[0].Share; math.Abs(q.Value-18.8) > 0.2 {
		t.Errorf("share %+v, want 18.8", q)
	}
	if q := a.Coupling[1].Share; math.Abs(q.Value) > 0.1 {
		t.Errorf("share %+v, want 0", q)
	}
	if f := code(a, "coupling"); f == nil || f.Severity != Repair {
		t.Errorf("%+v", a.Findings)
	}
}
