package measure

import (
	"math"
	"slices"
	"testing"

	"halfstick/fit/stats"
	"halfstick/input"
	"halfstick/input/rig"
)

// Reports that come less than two rows apart, or exactly two, are told one from
// another: their rate comes out exactly and white noise stays white. Reports
// faster than the rows only bound the rate, even where a drift crosses 14 steps
// a second, which the rows mirror to 319 Hz.
func TestReportsAreToldApart(t *testing.T) {
	for _, c := range []struct{ reportHz, rateHz float64 }{
		{125, 1000}, {250, 500}, {500, 1000}, {200, 333}, {250, 333}, {171.8, 250},
	} {
		a := clockRig(t, c.reportHz, c.rateHz, 3, 0)
		q := a.out.Timing.ReportHz
		if q == nil || q.Low == nil || math.Abs(q.Value/c.reportHz-1) > 2e-5 {
			t.Errorf("%v Hz at %v rows a second: found %+v", c.reportHz, c.rateHz, q)
			continue
		}
		for _, g := range a.series.of(input.Rest) {
			x := a.reports(g)
			// The first and the last may be cut.
			if n := g.seconds() * c.reportHz; math.Abs(float64(len(x.x))-n) > 2+0.01*n {
				t.Errorf("%v Hz at %v: %d reports in %.2f s", c.reportHz, c.rateHz, len(x.x), g.seconds())
			}
			if r := stats.Lag1(x.x); math.Abs(r) > 0.06 {
				t.Errorf("%v Hz at %v: reports of white noise have correlation %.3f", c.reportHz, c.rateHz, r)
			}
		}
	}
	if q := clockRig(t, 427.8, 333, 0.2, -833).out.Timing.ReportHz; q == nil || q.Low != nil || q.Value > 428 {
		t.Errorf("427.8 Hz at 333 rows a second: found %+v", q)
	}
}

// Where no grid is found, each interval between changes counts as the nearest
// whole number of reports, and n is the changes of all windows.
func TestDividedClock(t *testing.T) {
	var busy [][]float64
	for k := range 8 {
		var times []float64
		for i := range 40 {
			if i%7 != 3 { // nothing changed in this report
				times = append(times, float64(k)+0.008*float64(i)+0.0005*math.Sin(float64(5*i+k)))
			}
		}
		busy = append(busy, times)
	}
	c := dividedClock(slices.Values(busy), 0.0085)
	if c.n != 8*34 || math.Abs(c.period/0.008-1) > 2e-3 || !(c.low < 0.008 && 0.008 < c.high) {
		t.Errorf("%d changes, period %g, %g to %g; want %d, 0.008", c.n, c.period, c.low, c.high, 8*34)
	}
}

// clockRig measures a simulated axis with noise and drift of so many steps and steps
// a minute.
func clockRig(t *testing.T, reportHz, rateHz, sigma, drift float64) *analysis {
	t.Helper()
	spec := rig.DeviceSpec{ID: "device", Name: "Example Device", ReportHz: reportHz, Axes: []rig.AxisSpec{{
		Label: "axis", Kind: input.TwoSided, Bits: 16, Mass: 0.1, Damping: 3, Friction: 0.05,
		Travel: rig.Travel{Low: 0.05, High: 0.95}, Spring: rig.Spring{Low: 25, High: 25}, White: sigma,
		DriftStepsPerMinute: drift,
	}}}
	r, err := rig.New([]rig.DeviceSpec{spec}, 5)
	if err != nil {
		t.Fatal(err)
	}
	if err := r.SetScript(r.PlannedScript(rig.Plan{Sweeps: 2, SweepSeconds: 3, RestSeconds: 15, Settle: 2})); err != nil {
		t.Fatal(err)
	}
	rec := record(t, r, rateHz)
	k := newTrack(rec)
	a := newAnalysis(newSeries(k, 0), &Axis{})
	a.clock = deviceClock(k, []int{0})
	a.timing()
	return a
}
