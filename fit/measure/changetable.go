package measure

import "sort"

// comparisonKind says how two values of a quantity are tested.
type comparisonKind int

const (
	mean      comparisonKind = iota // Student's t
	place                           // the same, with a step's rounding
	deviation                       // F
)

// comparison is a quantity that is compared between recordings.
type comparison struct {
	path, name string
	kind       comparisonKind
	values     int    // independent values behind it: ofMany or ofN
	untested   string // why there is no test although there is an interval
	get        func(a *Axis) *Quantity
}

const (
	ofMany = 0  // so many that the Gaussian holds
	ofN    = -1 // the quantity's N
)

// foundEdges is why the ends of a worn band are not tested: over simulated
// recordings of one device they wander more than their intervals say.
const foundEdges = "the ends of a worn band depend on what the noise lets be found; look at the worn noise"

// compared lists what is compared of an axis. Quantities that follow from
// others in the list (bits, levels, the share used, ordinary σ) are left out:
// they would cry the same change twice.
func compared(a *Axis) []comparison {
	low := func(a *Axis) *ReturnSide { return orNone(a.Return.FromLow) }
	high := func(a *Axis) *ReturnSide { return orNone(a.Return.FromHigh) }
	list := []comparison{
		{"travel.low", "low stop", place, ofN, "", func(a *Axis) *Quantity { return a.Travel.Low }},
		{"travel.centre", "centre", place, ofN, "", func(a *Axis) *Quantity { return a.Travel.Centre }},
		{"travel.high", "high stop", place, ofN, "", func(a *Axis) *Quantity { return a.Travel.High }},
		{"step", "step", mean, ofMany, "", func(a *Axis) *Quantity { return a.Step }},
		{"rest.sigma", "rest noise σ", deviation, ofMany, "", func(a *Axis) *Quantity { return a.Rest.Sigma }},
		{"rest.peak_to_peak", "peak to peak", mean, ofMany, "", func(a *Axis) *Quantity { return a.Rest.PeakToPeak }},
		{"rest.drift_per_minute", "drift", mean, ofMany, "", func(a *Axis) *Quantity { return a.Rest.DriftPerMinute }},
		{"rest.spikes_per_minute", "spikes", mean, ofMany, "", func(a *Axis) *Quantity { return a.Rest.SpikesPerMinute }},
		{"rest.correlation", "correlation", mean, ofMany, "", func(a *Axis) *Quantity { return a.Rest.Correlation }},
		{"return.from_low.mean", "return from low", place, ofN, "", func(a *Axis) *Quantity { return low(a).Mean }},
		{"return.from_low.spread", "spread, from low", deviation, ofN, "", func(a *Axis) *Quantity { return low(a).Spread }},
		{"return.from_low.seconds_to_rest", "time, from low", mean, ofN, "", func(a *Axis) *Quantity { return low(a).Seconds }},
		{"return.from_high.mean", "return from high", place, ofN, "", func(a *Axis) *Quantity { return high(a).Mean }},
		{"return.from_high.spread", "spread, from high", deviation, ofN, "", func(a *Axis) *Quantity { return high(a).Spread }},
		{"return.from_high.seconds_to_rest", "time, from high", mean, ofN, "", func(a *Axis) *Quantity { return high(a).Seconds }},
		{"return.gap", "return gap", place, ofN, "", func(a *Axis) *Quantity { return a.Return.Gap }},
		{"sweep.hysteresis", "hysteresis", mean, ofN, "", func(a *Axis) *Quantity { return a.Sweep.Hysteresis }},
		{"sweep.jumps_per_sweep", "jumps", mean, ofMany, "", func(a *Axis) *Quantity { return a.Sweep.JumpsPerSweep }},
		{"sweep.worn_from", "worn from", mean, ofMany, foundEdges, func(a *Axis) *Quantity { return a.Sweep.WornFrom }},
		{"sweep.worn_to", "worn to", mean, ofMany, foundEdges, func(a *Axis) *Quantity { return a.Sweep.WornTo }},
		{"sweep.worn_ratio", "worn noise", deviation, ofMany, "", func(a *Axis) *Quantity { return a.Sweep.WornRatio }},
		{"timing.report_hz", "report rate", mean, ofMany, "", func(a *Axis) *Quantity { return a.Timing.ReportHz }},
		{"timing.longest_stall_ms", "longest stall", mean, ofMany, "", func(a *Axis) *Quantity { return a.Timing.LongestStallMS }},
		{"timing.lost_samples", "lost samples", mean, ofMany, "", func(a *Axis) *Quantity { return a.Timing.LostSamples }},
	}
	for _, c := range a.Coupling {
		list = append(list, comparison{"coupling." + c.With, "in " + c.With, mean, ofN, "", couplingWith(c.With)})
	}
	return list
}

func orNone(s *ReturnSide) *ReturnSide {
	if s == nil {
		return &ReturnSide{}
	}
	return s
}

func couplingWith(label string) func(a *Axis) *Quantity {
	return func(a *Axis) *Quantity {
		for i := range a.Coupling {
			if a.Coupling[i].With == label {
				return &a.Coupling[i].Share
			}
		}
		return nil
	}
}

// holm marks what changed: p values in rising order, each against falseCries
// over the number of tests not yet passed, until one fails (Holm 1979).
func (c *Change) holm() {
	var tests []*QuantityChange
	for i := range c.Axes {
		for j := range c.Axes[i].Quantities {
			if q := &c.Axes[i].Quantities[j]; q.P != nil {
				tests = append(tests, q)
			}
		}
	}
	sort.SliceStable(tests, func(i, j int) bool { return *tests[i].P < *tests[j].P })
	c.Tested = len(tests)
	for i, q := range tests {
		if *q.P > falseCries/float64(len(tests)-i) {
			return
		}
		q.Changed = true
		c.Changed++
	}
}
