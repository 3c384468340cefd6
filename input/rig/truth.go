package rig

import (
	"math"

	"halfstick/input"
)

// Truth is what one axis really is, to hold measurements against. Counts are
// 65535 over the converter's whole range.
type Truth struct {
	Device, Label string
	Kind          input.Kind

	StepCounts float64 // one converter step, on the mean
	ReportHz   float64

	// SigmaCounts is the sensor's noise before the converter rounds, where it
	// is not worn; Correlation is the noise's from one report to the next.
	SigmaCounts, Correlation float64
	DriftCountsPerMinute     float64
	SpikesPerMinute          float64

	// LowCounts and HighCounts are the noise-free readings at the stops, which
	// the sensor reaches but for half the play,
	// CentreCounts that where the spring is slack (or the nearer stop), and
	// UsedShare the part of the converter's range between the stops.
	LowCounts, HighCounts, CentreCounts, UsedShare float64

	// ReturnLow and ReturnHigh are the noise-free readings at which the
	// control comes to rest when let go at the low and the high stop with its
	// mean friction; nil where it has no spring or no such side. GapCounts is
	// high less low, nil unless both are there.
	ReturnLow, ReturnHigh, GapCounts *float64
	// ReturnSpread is the share by which the friction, and so the distance
	// from the centre, varies from release to release (standard deviation).
	ReturnSpread float64

	// Worn is the stretch in which the sensor is worn, nil if
	// none: positions x, which are 0 at the middle of the throw and not where
	// the control comes to rest. WornCounts are the same two ends in counts.
	Worn       *Worn
	WornCounts [2]float64

	// Stuck is the stretch of x in which the reading stands at StuckCounts; nil
	// if none. JumpCounts is the height of the jump, 0 if none.
	Stuck                   *Stretch
	StuckCounts, JumpCounts float64

	// Leaks gives, by label of another axis of the device, the share of that
	// axis's travel by which a whole travel of this one moves its reading.
	Leaks map[string]float64
}

// Truth returns what each axis really is, in column order. The resting
// positions come from simulated releases without noise.
func (r *Rig) Truth() []Truth {
	var out []Truth
	for _, d := range r.specs {
		for _, a := range d.Axes {
			out = append(out, a.truth(d))
		}
	}
	return out
}

func (a AxisSpec) truth(d DeviceSpec) Truth {
	low, high := a.stops()
	stepCounts := 65535 / float64(a.maxCode())
	counts := func(x float64) float64 { return a.code(x)*stepCounts - 32768 }
	t := Truth{
		Device: d.ID, Label: a.Label, Kind: a.Kind,
		StepCounts:           stepCounts,
		ReportHz:             d.ReportHz,
		SigmaCounts:          math.Hypot(a.White, a.Wander) * stepCounts,
		DriftCountsPerMinute: a.DriftStepsPerMinute * stepCounts,
		SpikesPerMinute:      a.SpikesPerMinute,
		LowCounts:            counts(low + a.Play/2),
		HighCounts:           counts(high - a.Play/2),
		CentreCounts:         counts(math.Min(math.Max(a.Spring.Centre, low), high)),
		UsedShare:            (counts(high-a.Play/2) - counts(low+a.Play/2)) / 65535,
	}
	if variance := a.White*a.White + a.Wander*a.Wander; variance > 0 {
		t.Correlation = a.Wander * a.Wander * a.WanderCorrelation / variance
	}
	if a.Worn.Times != 0 {
		worn := a.Worn
		t.Worn, t.WornCounts = &worn, [2]float64{counts(worn.From), counts(worn.To)}
	}
	if a.Stuck != (Stretch{}) {
		stuck := a.Stuck
		t.Stuck, t.StuckCounts = &stuck, counts(stuck.From)
	}
	t.JumpCounts = a.Jump.Steps * stepCounts
	for _, l := range d.Leaks {
		if l.From == a.Label {
			if t.Leaks == nil {
				t.Leaks = map[string]float64{}
			}
			t.Leaks[l.To] += l.Share
		}
	}
	if a.Spring == (Spring{}) {
		return t
	}
	t.ReturnSpread = a.FrictionSpread
	fromHigh := counts(a.restingFrom(high))
	t.ReturnHigh = &fromHigh
	if a.Kind == input.TwoSided {
		fromLow := counts(a.restingFrom(low))
		gap := fromHigh - fromLow
		t.ReturnLow, t.GapCounts = &fromLow, &gap
	}
	return t
}

// restingFrom lets the control go at position x and returns where its sensor
// is once it has stood still.
func (a AxisSpec) restingFrom(x float64) float64 {
	const enough = 10 / step // ten seconds
	a.FrictionSpread = 0
	m := newAxis(a, 0, 0)
	m.x, m.sensed = x, x
	for range int(enough) {
		m.advance(0, false)
	}
	return m.sensed
}

// SimulateReturns lets axis i go from a stop n times, each with friction of its
// own, and returns the noise-free readings, in counts, at which it stands after
// the given time. Their mean and scatter are what many releases would show: it
// differs a little from Truth's reading at the mean friction, as friction acts
// on an overshoot more than once.
func (r *Rig) SimulateReturns(i int, fromHigh bool, n int, after float64) []float64 {
	a := r.axes[i]
	start := a.low
	if fromHigh {
		start = a.high
	}
	stepCounts := 65535 / float64(a.spec.maxCode())
	out := make([]float64, n)
	for k := range out {
		m := newAxis(a.spec, r.seed, returnStream+uint64(i)<<16+uint64(k))
		m.x, m.sensed = start, start
		for range int(after / step) {
			stood := m.v == 0 && m.way != 0
			m.advance(0, false)
			if stood && m.v == 0 {
				break // two steps without motion: its friction holds it for good
			}
		}
		out[k] = a.spec.code(m.sensed)*stepCounts - 32768
	}
	return out
}
