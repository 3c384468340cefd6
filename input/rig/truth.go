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

	// LowCounts and HighCounts are the noise-free readings at the stops,
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
		LowCounts:            counts(low),
		HighCounts:           counts(high),
		CentreCounts:         counts(math.Min(math.Max(a.Spring.Centre, low), high)),
		UsedShare:            a.Travel.High - a.Travel.Low,
	}
	if variance := a.White*a.White + a.Wander*a.Wander; variance > 0 {
		t.Correlation = a.Wander * a.Wander * a.WanderCorrelation / variance
	}
	if a.Worn.Times != 0 {
		worn := a.Worn
		t.Worn, t.WornCounts = &worn, [2]float64{counts(worn.From), counts(worn.To)}
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
