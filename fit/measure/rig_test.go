package measure

import (
	"sync"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/rig"
)

// record samples a rig under its script, as a recorder with a perfect clock.
func record(t testing.TB, r *rig.Rig, rateHz float64) *input.Recording {
	t.Helper()
	c, err := input.NewCollector(input.Header{RateHz: rateHz, Source: r.Describe(), Devices: r.Devices()})
	if err != nil {
		t.Fatal(err)
	}
	var n int
	for _, d := range r.Devices() {
		n += len(d.Axes)
	}
	row := input.Row{Counts: make([]int16, n)}
	period := time.Duration(float64(time.Second) / rateHz)
	for at := time.Duration(0); at < r.Duration(); at += period {
		r.Advance(at)
		r.Counts(row.Counts)
		row.AtUS, row.Phase = at.Microseconds(), r.PhaseAt(at)
		if err := c.Write(row); err != nil {
			t.Fatal(err)
		}
	}
	return c.Recording()
}

// measuredRig is one default rig, recorded and measured.
type measuredRig struct {
	rec   *input.Recording
	m     *Measurement
	truth []rig.Truth
}

var (
	rigs   = map[uint64]*measuredRig{}
	rigsMu sync.Mutex
)

// defaultRig measures the default rig of a seed once for all tests.
func defaultRig(t testing.TB, seed uint64) *measuredRig {
	t.Helper()
	rigsMu.Lock()
	defer rigsMu.Unlock()
	if m := rigs[seed]; m != nil {
		return m
	}
	r := rig.Default(seed)
	plan := rig.FullPlan
	plan.FlySeconds = 0
	if err := r.SetScript(r.PlannedScript(plan)); err != nil {
		t.Fatal(err)
	}
	rec := record(t, r, 500)
	m, err := Recording(rec, "default rig")
	if err != nil {
		t.Fatal(err)
	}
	rigs[seed] = &measuredRig{rec: rec, m: m, truth: r.Truth()}
	return rigs[seed]
}
