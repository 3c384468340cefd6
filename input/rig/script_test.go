package rig

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"halfstick/input"
)

// short is a plan that covers everything quickly.
var short = Plan{
	Sweeps: 2, SweepsOne: 2, SweepSeconds: 2, RestSeconds: 3,
	Releases: 2, ReleasesOne: 2, Settle: 3.2, HoldSeconds: 2, FlySeconds: 20,
}

// run samples a rig at 500 Hz and calls each with every sample.
func run(r *Rig, each func(at time.Duration, phase input.Phase, x []float64, counts []int16)) {
	x, counts := make([]float64, len(r.axes)), make([]int16, len(r.axes))
	for at := time.Duration(0); at < r.Duration(); at += 2 * time.Millisecond {
		r.Advance(at)
		r.Positions(x)
		r.Counts(counts)
		each(at, r.PhaseAt(at), x, counts)
	}
}

func scripted(t *testing.T, seed uint64, p Plan) *Rig {
	t.Helper()
	r, err := New(DefaultSpecs(seed), seed)
	if err != nil {
		t.Fatal(err)
	}
	if err := r.SetScript(r.PlannedScript(p)); err != nil {
		t.Fatal(err)
	}
	return r
}

// Each part of the script does what its label says, to its axis alone.
func TestScriptDoesWhatItSays(t *testing.T) {
	r := scripted(t, 6, short)
	type extent struct{ low, high float64 }
	var stretches []input.Phase
	var span []extent
	var last input.Phase
	finish := func() {
		if last.Kind == input.NoPhase || last.Kind == input.Flight {
			return
		}
		stretches = append(stretches, last)
		for i, a := range r.axes {
			moved := span[i].high - span[i].low
			mine := a.spec.Label == last.Label
			switch {
			case !mine && moved > 1e-4: // the last creep of an earlier release
				t.Errorf("%v moved %s by %g", last, a.spec.Label, moved)
			case mine && last.Kind == input.Sweep && (span[i].low != a.low || span[i].high != a.high):
				t.Errorf("%v went from %g to %g, stops are %g and %g", last, span[i].low, span[i].high, a.low, a.high)
			case mine && last.Kind == input.Hold && (moved > 0.01 || math.Abs(span[i].low-0.5) > 0.06):
				t.Errorf("%v went from %g to %g", last, span[i].low, span[i].high)
			case mine && last.Kind == input.ReleaseLow && span[i].low != a.low,
				mine && last.Kind == input.ReleaseHigh && span[i].high != a.high:
				t.Errorf("%v did not begin at the stop: %+v", last, span[i])
			}
		}
	}
	settled := make(map[string][]float64) // positions in the last second of a release
	steps := r.script.Steps()
	run(r, func(at time.Duration, phase input.Phase, x []float64, _ []int16) {
		if phase != last {
			finish()
			last, span = phase, nil
		}
		if span == nil {
			for _, v := range x {
				span = append(span, extent{v, v})
			}
		}
		for i, v := range x {
			span[i] = extent{math.Min(span[i].low, v), math.Max(span[i].high, v)}
		}
		j := slices.IndexFunc(r.script.ends, func(end float64) bool { return at.Seconds() < end })
		if (phase.Kind == input.ReleaseLow || phase.Kind == input.ReleaseHigh) && r.script.ends[j]-at.Seconds() <= 1 {
			i := slices.IndexFunc(r.axes, func(a *axis) bool { return a.spec.Label == phase.Label })
			key := fmt.Sprint(j)
			settled[key] = append(settled[key], x[i])
			if steps[j].Length < 3*time.Second {
				t.Errorf("%v lasts %v, want 3 s or more", phase, steps[j].Length)
			}
		}
	})
	finish()
	for key, x := range settled {
		if moved := slices.Max(x) - slices.Min(x); moved > 0.001 {
			t.Errorf("step %s: still moves by %g in its last second", key, moved)
		}
	}
	if len(settled) != 4*2*2+2*2 {
		t.Errorf("%d releases, want 20", len(settled))
	}
	count := map[input.PhaseKind]int{}
	for _, p := range stretches {
		count[p.Kind]++
	}
	want := map[input.PhaseKind]int{input.Sweep: 7, input.Rest: 1, input.ReleaseLow: 8, input.ReleaseHigh: 12, input.Hold: 7}
	for kind, n := range want {
		if count[kind] != n {
			t.Errorf("%d stretches of %s, want %d", count[kind], kind, n)
		}
	}
	if first := slices.IndexFunc(stretches, func(p input.Phase) bool { return p.Kind == input.Rest }); first != 7 {
		t.Errorf("the rest is stretch %d, want it right after all 7 sweeps", first)
	}
}

// |y| in flight is about half-normal with 95 % inside half of full command.
func TestFlightIsFlownAsDemanded(t *testing.T) {
	flight := short
	flight.Sweeps, flight.SweepsOne, flight.RestSeconds, flight.Releases, flight.ReleasesOne, flight.HoldSeconds, flight.FlySeconds = 0, 0, 0, 0, 0, 0, 300
	r := scripted(t, 12, flight)
	var y [7][]float64
	run(r, func(_ time.Duration, phase input.Phase, x []float64, _ []int16) {
		if phase.Kind == input.Flight {
			for i := range y {
				y[i] = append(y[i], math.Abs(x[i]))
			}
		}
	})
	for i, a := range r.axes {
		if a.spec.Kind != input.TwoSided {
			continue
		}
		var square float64
		for _, v := range y[i] {
			square += v * v
		}
		rms := math.Sqrt(square / float64(len(y[i])))
		slices.Sort(y[i])
		share := func(within float64) float64 {
			n, _ := slices.BinarySearch(y[i], within)
			return float64(n) / float64(len(y[i]))
		}
		if rms < 0.235 || rms > 0.29 {
			t.Errorf("%s: RMS %.3f, want about 0.255", a.spec.Label, rms)
		}
		if s := share(0.5); s < 0.925 || s > 0.97 {
			t.Errorf("%s: %.3f inside half of full command, want about 0.95", a.spec.Label, s)
		}
		// Half-normal: 68.3 % within one σ.
		if s := share(0.255); s < 0.64 || s > 0.75 {
			t.Errorf("%s: %.3f inside σ, want about 0.68", a.spec.Label, s)
		}
	}
}

// There are more large inputs than the normal density has: beyond 0.8 of full
// command, 3.3 times the waves' standard deviation, that is under one in a
// thousand.
func TestFlightHasLargeInputs(t *testing.T) {
	large, all := 0, 0
	for seed := range uint64(20) {
		hand := flyTwoSided(rand.New(rand.NewPCG(seed, 0)), 600)
		for at := 0.0; at < 600; at += 0.05 {
			y, held := hand(at)
			if math.Abs(y) > 1 || !held {
				t.Fatalf("at %v s: hand at %v, held %v", at, y, held)
			}
			if math.Abs(y) > 0.8 {
				large++
			}
			all++
		}
	}
	if share := float64(large) / float64(all); share < 0.002 || share > 0.01 {
		t.Errorf("%.4f of the time beyond 0.8 of full command, want between 0.002 and 0.01", share)
	}
}

// The same seed gives the same counts, however time is cut up; another gives
// others.
func TestSeedsReproduce(t *testing.T) {
	whole := scripted(t, 21, short)
	pieces := scripted(t, 21, short)
	other := scripted(t, 22, short)
	a, b, c := make([]int16, 7), make([]int16, 7), make([]int16, 7)
	differ := 0
	for s := 1; s <= 60; s++ {
		end := time.Duration(s) * time.Second
		whole.Advance(end)
		other.Advance(end)
		for at := end - time.Second; at < end; at += 1700 * time.Microsecond {
			pieces.Advance(at)
		}
		pieces.Advance(end)
		whole.Counts(a)
		pieces.Counts(b)
		other.Counts(c)
		if !slices.Equal(a, b) {
			t.Fatalf("at %v: %v in one go, %v in pieces", end, a, b)
		}
		if !slices.Equal(a, c) {
			differ++
		}
	}
	if differ < 55 {
		t.Errorf("another seed differs at %d of 60 instants", differ)
	}
	if x, y := fmt.Sprint(DefaultSpecs(5)), fmt.Sprint(DefaultSpecs(5)); x != y {
		t.Error("the same seed gives two different rigs")
	}
	if x, y := fmt.Sprint(DefaultSpecs(5)), fmt.Sprint(DefaultSpecs(6)); x == y {
		t.Error("two seeds give the same rig")
	}
}

// Whatever the seed, the stick is quiet and the pedals are as worn as DefaultSpecs
// says.
func TestDefaultRigIsAsDescribed(t *testing.T) {
	for seed := range uint64(40) {
		r, err := New(DefaultSpecs(seed), seed)
		if err != nil {
			t.Fatal(err)
		}
		truth := map[string]Truth{}
		for _, tr := range r.Truth() {
			truth[tr.Label] = tr
		}
		rudder := truth["rudder"]
		sigma := rudder.SigmaCounts / rudder.StepCounts
		if sigma < 1.5 || sigma > 2.5 {
			t.Errorf("seed %d: rudder's σ is %.2f steps", seed, sigma)
		}
		half := (rudder.HighCounts - rudder.LowCounts) / 2
		low, high := (rudder.CentreCounts-*rudder.ReturnLow)/half, (*rudder.ReturnHigh-rudder.CentreCounts)/half
		if low < 0.008 || low > 0.018 || high < 0.03 || high > 0.06 {
			t.Errorf("seed %d: rudder stops %.3f low and %.3f high of its centre", seed, low, high)
		}
		if rudder.Worn == nil || rudder.Worn.Times != 4 {
			t.Errorf("seed %d: the rudder is not worn: %+v", seed, rudder.Worn)
		}
		for _, label := range []string{"pitch", "roll", "twist"} {
			s := truth[label]
			half := (s.HighCounts - s.LowCounts) / 2
			if s.SigmaCounts > 0.0004*half || *s.GapCounts > 0.025*half || s.Worn != nil {
				t.Errorf("seed %d: %s is not quiet: %+v", seed, label, s)
			}
		}
		if share := truth["right-brake"].UsedShare; math.Abs(share-0.12) > 1e-9 {
			t.Errorf("seed %d: the right brake uses %.3f of its range", seed, share)
		}
	}
	d := Default(1)
	if got := d.Duration(); got < 7*time.Minute || got > 10*time.Minute {
		t.Errorf("the full script lasts %v", got)
	}
}

func TestScriptIsFixedOnceMoving(t *testing.T) {
	r := Default(1)
	r.Advance(time.Second)
	if err := r.SetScript(Script{}); err == nil {
		t.Error("the script of a moving rig was changed")
	}
	if p := r.PhaseAt(r.Duration()); p != (input.Phase{}) {
		t.Errorf("after the end: phase %v", p)
	}
	if p := r.PhaseAt(r.Duration() - time.Nanosecond); p != (input.Phase{}) {
		t.Errorf("at the very end: phase %v, want the last, unlabelled second", p)
	}
}

func TestBadSpecs(t *testing.T) {
	good := func() []DeviceSpec {
		return []DeviceSpec{{ID: "a", Name: "A", ReportHz: 100, Axes: []AxisSpec{bare()}}}
	}
	if _, err := New(good(), 1); err != nil {
		t.Fatal(err)
	}
	for name, spoil := range map[string]func(d *DeviceSpec){
		"no id":            func(d *DeviceSpec) { d.ID = "" },
		"no rate":          func(d *DeviceSpec) { d.ReportHz = 0 },
		"NaN rate":         func(d *DeviceSpec) { d.ReportHz = math.NaN() },
		"no axes":          func(d *DeviceSpec) { d.Axes = nil },
		"twice one label":  func(d *DeviceSpec) { d.Axes = append(d.Axes, bare()) },
		"no label":         func(d *DeviceSpec) { d.Axes[0].Label = "" },
		"no kind":          func(d *DeviceSpec) { d.Axes[0].Kind = "" },
		"0 bits":           func(d *DeviceSpec) { d.Axes[0].Bits = 0 },
		"17 bits":          func(d *DeviceSpec) { d.Axes[0].Bits = 17 },
		"no mass":          func(d *DeviceSpec) { d.Axes[0].Mass = 0 },
		"negative spring":  func(d *DeviceSpec) { d.Axes[0].Spring.Low = -1 },
		"correlation of 1": func(d *DeviceSpec) { d.Axes[0].WanderCorrelation = 1 },
		"no travel":        func(d *DeviceSpec) { d.Axes[0].Travel = Travel{0.5, 0.5} },
	} {
		specs := good()
		spoil(&specs[0])
		if _, err := New(specs, 1); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}

// How many times faster than real time the default rig runs.
func BenchmarkDefaultRig(b *testing.B) {
	var simulated time.Duration
	for b.Loop() {
		r := Default(1)
		r.Advance(r.Duration())
		simulated += r.Duration()
	}
	b.ReportMetric(simulated.Seconds()/b.Elapsed().Seconds(), "×real-time")
}
