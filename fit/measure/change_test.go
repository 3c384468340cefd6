package measure

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"halfstick/fit/stats"
	"halfstick/input"
	"halfstick/input/rig"
)

func compareWhole(t *testing.T, old, new device) *Change {
	t.Helper()
	var m [2]*Measurement
	for i, d := range []device{old, new} {
		var err error
		if m[i], err = Recording(d.record(d.whole()...), []string{"old", "new"}[i]); err != nil {
			t.Fatal(err)
		}
	}
	c, err := Compare(m[0], m[1])
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func changeOf(c *Change, path string) *QuantityChange {
	for i := range c.Axes[0].Quantities {
		if c.Axes[0].Quantities[i].Quantity == path {
			return &c.Axes[0].Quantities[i]
		}
	}
	return nil
}

// oneDevice are specs of devices that differ in all that matters to a test of
// change, and how each is sampled.
var oneDevice = []struct {
	name   string
	rateHz float64
	change func(d *rig.DeviceSpec, a *rig.AxisSpec)
}{
	{"quiet, 10 bits, reports faster than it is sampled", 250, func(d *rig.DeviceSpec, a *rig.AxisSpec) {
		d.ReportHz, a.Bits, a.White = 1000, 10, 0.25
	}},
	{"14 bits, wander, drift, a soft side", 250, func(d *rig.DeviceSpec, a *rig.AxisSpec) {
		a.Bits, a.White, a.Wander, a.WanderCorrelation = 14, 4, 4, 0.9
		a.DriftStepsPerMinute, a.Spring.High = -40, 6
	}},
	{"slow, worn, with play", 250, func(d *rig.DeviceSpec, a *rig.AxisSpec) {
		d.ReportHz, a.Play = 90, 0.01
		a.Worn = rig.Worn{From: 0.2, To: 0.35, Times: 6}
	}},
}

func measuredPair(t *testing.T, old, new *input.Recording) *Change {
	t.Helper()
	var m [2]*Measurement
	for i, rec := range []*input.Recording{old, new} {
		var err error
		if m[i], err = Recording(rec, []string{"old", "new"}[i]); err != nil {
			t.Fatal(err)
		}
	}
	c, err := Compare(m[0], m[1])
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// Two recordings of one device cry change in 5 % of pairs at most. Of 54 pairs
// that makes 2.7; six or more would happen in 5 % of all choices of seeds. The
// seeds are not those with which the tests of change were developed.
func TestNoCryWithinTheNoise(t *testing.T) {
	const synthetic, ofRig, most = 24, 10, 5
	cries, pairs := 0, 0
	look := func(c *Change, what string) {
		pairs++
		if c.Tested < 10 {
			t.Fatalf("%s: only %d quantities tested", what, c.Tested)
		}
		if c.Changed > 0 {
			cries++
		}
		for _, q := range c.Axes[0].Quantities {
			if q.Changed {
				t.Logf("%s cries %s: %s, then %s, p %.2g", what, q.Name, show(q.Old), show(q.New), *q.P)
			}
		}
	}
	for i := range uint64(synthetic) {
		d := usual()
		d.bits, d.sigma, d.rho = 10+2*int(i%3), 0.4+0.3*float64(i%5), 0.3*float64(i%2)
		other := d
		d.seed, other.seed = 5000+2*i, 5001+2*i
		look(compareWhole(t, d, other), fmt.Sprintf("synthetic pair %d", i))
	}
	for k, s := range oneDevice {
		spec := soundDevice()
		s.change(&spec, &spec.Axes[0])
		for i := range uint64(ofRig) {
			seed := 6000 + 100*uint64(k) + 2*i
			old, _ := seeded(t, seed, spec, shortPlan, s.rateHz, nil)
			new, _ := seeded(t, seed+1, spec, shortPlan, s.rateHz, nil)
			look(measuredPair(t, old, new), s.name)
		}
	}
	if cries > most {
		t.Errorf("%d of %d pairs without a change cry one, want at most %d", cries, pairs, most)
	}
}

// What really changes on a device is found, each by its own quantity.
func TestRealChangesAreFound(t *testing.T) {
	for path, change := range map[string]func(a *rig.AxisSpec){
		"rest.sigma":            func(a *rig.AxisSpec) { a.White *= 1.5 },
		"return.gap":            func(a *rig.AxisSpec) { a.Friction *= 6 },
		"travel.high":           func(a *rig.AxisSpec) { a.Travel.High -= 0.02 },
		"sweep.bands":           func(a *rig.AxisSpec) { a.Worn = rig.Worn{From: 0.2, To: 0.35, Times: 4} },
		"rest.drift_per_minute": func(a *rig.AxisSpec) { a.DriftStepsPerMinute = 20 },
		"rest.correlation":      func(a *rig.AxisSpec) { a.White, a.Wander, a.WanderCorrelation = 1, 1.118, 0.8 },
	} {
		t.Run(path, func(t *testing.T) {
			spec := soundDevice()
			spec.Axes[0].Damping = 3.5 // it does not swing past the centre
			old, _ := seeded(t, 7001, spec, shortPlan, 500, nil)
			change(&spec.Axes[0])
			new, _ := seeded(t, 7002, spec, shortPlan, 500, nil)
			c := measuredPair(t, old, new)
			q := changeOf(c, path)
			if q == nil || !q.Changed {
				t.Fatalf("not found: %+v", q)
			}
			if q.Difference.Low == nil || *q.Difference.Low <= 0 && *q.Difference.High >= 0 {
				t.Errorf("changed by %s", show(q.Difference))
			}
		})
	}
}

// A spread of which the noise makes up nearly all is compared by its interval.
func TestSpreadWithinTheNoise(t *testing.T) {
	c := comparison{kind: deviation, values: ofN}
	if q := c.compare(within(1, 0, 74, unitCounts, 4, ""), within(21, 11, 108, unitCounts, 4, ""), 0); q.P == nil || *q.P < 0.05 {
		t.Errorf("21 after at most 74: %+v", q)
	}
	if q := c.compare(within(1, 0, 20, unitCounts, 4, ""), within(900, 500, 4000, unitCounts, 4, ""), 0); q.P == nil || *q.P > 0.02 {
		t.Errorf("900 after at most 20: %+v", q)
	}
}

// A change of noise is found and nothing else is cried.
func TestChangeIsFound(t *testing.T) {
	d := usual()
	worse := d
	worse.seed, worse.sigma = 2, 1.3*d.sigma
	c := compareWhole(t, d, worse)
	s := changeOf(c, "rest.sigma")
	if s == nil || !s.Changed {
		t.Fatalf("30 %% more noise is not a change: %+v", s)
	}
	step := s.Old.Value / d.sigma // counts, near enough
	if !has(s.Difference, 0.3*d.sigma*step) {
		t.Errorf("the noise grew by %s, in truth by %.1f", show(s.Difference), 0.3*d.sigma*step)
	}
	for _, q := range c.Axes[0].Quantities {
		if q.Changed && q.Quantity != "rest.sigma" {
			t.Errorf("%s cries a change: %s, then %s", q.Name, show(q.Old), show(q.New))
		}
	}
	if same := compareWhole(t, d, d); same.Changed != 0 || same.Tested < 10 {
		t.Errorf("a recording against itself: %d changes in %d tests", same.Changed, same.Tested)
	}
}

// Holm (1979), by hand: of 0.01, 0.04, 0.03 and 0.005 at 5 %, 0.005 passes
// 0.05/4 and 0.01 passes 0.05/3; 0.03 fails 0.05/2 and stops 0.04 too.
func TestHolm(t *testing.T) {
	c := Change{Axes: []AxisChange{{}, {}}}
	for i, p := range []float64{0.01, 0.04, 0.03, 0.005} {
		a := &c.Axes[i%2]
		a.Quantities = append(a.Quantities, QuantityChange{Name: fmt.Sprint(p), P: &p}, QuantityChange{Name: "untested"})
	}
	c.holm()
	got := ""
	for _, a := range c.Axes {
		for _, q := range a.Quantities {
			if q.Changed {
				got += q.Name + " "
			}
		}
	}
	if got != "0.01 0.005 " || c.Changed != 2 || c.Tested != 4 {
		t.Errorf("changed are %s(%d of %d)", got, c.Changed, c.Tested)
	}
}

// The extra hours of sleep of Student (1908), "The probable error of a mean",
// taken as two groups. Welch's t −1.8608 on 17.776 degrees of freedom,
// p 0.0794, and F 0.798, p 0.743, are values from memory.
func TestTestsOnStudentsSleep(t *testing.T) {
	one := []float64{0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0}
	two := []float64{1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4}
	quantities := func(x []float64) (m, s *Quantity) {
		v, lo, hi := stats.MeanInterval(x, 0.95)
		_, sd := stats.MeanSD(x)
		slo, shi := stats.SigmaInterval(sd, float64(len(x)), 0.95)
		return within(v, lo, hi, unitSeconds, len(x), ""), within(sd, slo, shi, unitSeconds, len(x), "")
	}
	m1, s1 := quantities(one)
	m2, s2 := quantities(two)
	means := comparison{kind: mean, values: ofN}.compare(m1, m2, 0)
	if math.Abs(*means.P-0.0794) > 5e-4 {
		t.Errorf("Welch's p is %.4f", *means.P)
	}
	// Both means have the same freedom, so the interval is d ± √(h₁²+h₂²).
	h := math.Hypot(*m1.High-m1.Value, *m2.High-m2.Value)
	if q := means.Difference; math.Abs(q.Value-1.58) > 1e-9 || math.Abs(*q.High-1.58-h) > 1e-9 || math.Abs(*q.Low-1.58+h) > 1e-9 {
		t.Errorf("difference %s", show(q))
	}
	if f := (comparison{kind: deviation, values: ofN}).compare(s1, s2, 0); math.Abs(*f.P-0.743) > 1e-3 {
		t.Errorf("the F test's p is %.4f", *f.P)
	}
}

// From the table of chi-squared quantiles: √(12.833/0.831) = 3.930 for 5 degrees
// of freedom, √(20.483/3.247) = 2.512 for 10 (from memory).
func TestFreedomOfAnInterval(t *testing.T) {
	for want, ratio := range map[float64]float64{5: 3.930, 10: 2.512} {
		if got := freedomOf(ratio); math.Abs(got/want-1) > 0.005 {
			t.Errorf("ends %.3f times apart: %.3f degrees of freedom, want %.0f", ratio, got, want)
		}
	}
}

// A quiet axis that returned to the very same count each time must not cry
// when it returns a step beside it the next day.
func TestOneStepIsNoChange(t *testing.T) {
	at := func(v float64) *Quantity { return within(v, v, v, unitCounts, 5, "") }
	c := comparison{kind: place, values: ofN}
	if q := c.compare(at(0), at(64), 64); q.P == nil || *q.P < 0.01 {
		t.Errorf("one step: %+v", q)
	}
	if q := c.compare(at(0), at(640), 64); q.P == nil || *q.P > 1e-4 {
		t.Errorf("ten steps: %+v", q)
	}
}

func TestCompareRefusesAnotherDevice(t *testing.T) {
	m := &Measurement{Recording: "old.csv", Axes: []Axis{{Device: "pedals", Label: "rudder"}}}
	for name, other := range map[string]Axis{
		"device": {Device: "stick", Label: "rudder"}, "label": {Device: "pedals", Label: "brake"},
		"index": {Device: "pedals", Label: "rudder", Index: 1}, "kind": {Device: "pedals", Label: "rudder", Kind: "one-sided"},
	} {
		_, err := Compare(m, &Measurement{Recording: "new.csv", Axes: []Axis{other}})
		if err == nil || !strings.Contains(err.Error(), "new.csv has no axis like pedals.rudder") {
			t.Errorf("another %s: %v", name, err)
		}
	}
	more := &Measurement{Recording: "new.csv", Axes: append([]Axis{{Device: "pedals", Label: "brake"}}, m.Axes...)}
	if _, err := Compare(m, more); err == nil {
		t.Error("an axis more in the new recording goes unnoticed")
	}
	if _, err := Compare(nil, m); err == nil {
		t.Error("no measurement goes unnoticed")
	}
	// An axis that could not be measured at all compares to nothing, not to a change.
	if c, err := Compare(m, m); err != nil || c.Tested != 0 || c.Changed != 0 {
		t.Errorf("%+v, %v", c, err)
	}
}
