package text

import (
	"halfstick/curves"
	"halfstick/fit/measure"
)

// Row is a measured quantity under the name that people read, with what it
// means in a few words. Rows of one Part belong together.
type Row struct {
	Part        Part
	Name, Gloss string
	Quantity    *measure.Quantity
}

// Part is what was done to get a quantity.
type Part string

// The parts of a measurement, in the order in which a person reads them.
const (
	Travel     Part = "travel"
	Resolution Part = "resolution"
	Rest       Part = "rest"
	Return     Part = "return"
	Sweep      Part = "sweep"
	Timing     Part = "timing"
	Coupling   Part = "coupling"
)

// Quantities lists what was measured about an axis in the order in which a
// person reads it. Quantities that could not be measured are nil. What only a
// two-sided axis can have is left out for a one-sided one.
func Quantities(a *measure.Axis) []Row {
	rows := []Row{{Travel, "low stop", "counts at the low end of the throw", a.Travel.Low}}
	twoSided := a.Kind != string(curves.OneSided)
	if twoSided {
		rows = append(rows, Row{Travel, "centre", "counts where it rests", a.Travel.Centre})
	}
	rows = append(rows,
		Row{Travel, "high stop", "counts at the high end of the throw", a.Travel.High},
		Row{Travel, "range used", "share of all counts that the throw reaches", a.Travel.UsedShare},
		Row{Resolution, "step", "smallest change the sensor can make", a.Step},
		Row{Resolution, "effective bits", "how finely the whole range is divided", a.EffectiveBits},
		Row{Resolution, "noise-free levels", "positions that the noise leaves distinct over the throw", a.NoiseFreeLevels},
		Row{Rest, "rest noise σ", "standard deviation with hands off, drift and spikes taken out", a.Rest.Sigma},
		Row{Rest, "σ, ordinary", "standard deviation with spikes left in", a.Rest.SigmaOrdinary},
		Row{Rest, "peak to peak", "largest less smallest reading at rest", a.Rest.PeakToPeak},
		Row{Rest, "drift", "slow movement at rest", a.Rest.DriftPerMinute},
		Row{Rest, "drift, overall", "the same of the whole recording: at rest, at the stops, from release to release", a.Rest.DriftOverallPerMinute},
		Row{Rest, "spikes", "readings far off their neighbours, at rest", a.Rest.SpikesPerMinute},
		Row{Rest, "correlation", "of the noise from one report to the next; 0 is none", a.Rest.Correlation})
	for i := range a.Rest.Periodic {
		p := &a.Rest.Periodic[i]
		rows = append(rows,
			Row{Rest, "hum, frequency", "of a regular disturbance at rest", &p.FrequencyHz},
			Row{Rest, "hum, amplitude", "half its peak-to-peak height", &p.Amplitude})
	}
	if twoSided {
		rows = append(rows, returns("low", a.Return.FromLow)...)
		rows = append(rows, returns("high", a.Return.FromHigh)...)
		rows = append(rows,
			Row{Return, "return gap", "return from the high side less return from the low side", a.Return.Gap},
			Row{Return, "noise, returned", "noise σ where it comes to rest after a release", a.Return.Sigma})
	}
	rows = append(rows,
		Row{Sweep, "hysteresis", "largest difference between readings on the way up and down", a.Sweep.Hysteresis},
		Row{Sweep, "jumps", "sudden changes in a sweep", a.Sweep.JumpsPerSweep})
	if a.Sweep.WornRatio != nil {
		rows = append(rows,
			Row{Sweep, "worn from", "where the worn band begins", a.Sweep.WornFrom},
			Row{Sweep, "worn to", "where it ends", a.Sweep.WornTo},
			Row{Sweep, "worn noise", "noise in the worn band over that elsewhere", a.Sweep.WornRatio})
	}
	rows = append(rows,
		Row{Timing, "report rate", "how often the device sends", a.Timing.ReportHz},
		Row{Timing, "longest stall", "longest silence while the control moved", a.Timing.LongestStallMS},
		Row{Timing, "lost samples", "samples in which the device was absent", a.Timing.LostSamples})
	for i := range a.Coupling {
		c := &a.Coupling[i]
		rows = append(rows, Row{Coupling, "in " + c.With, "how much of this axis's sweep shows up in the other axis", &c.Share})
	}
	return rows
}

// returns are the rows of the releases from one side.
func returns(side string, s *measure.ReturnSide) []Row {
	if s == nil {
		s = &measure.ReturnSide{}
	}
	return []Row{
		{Return, "return from " + side, "where it comes to rest when let go from the " + side + " side", s.Mean},
		{Return, "spread, from " + side, "standard deviation from release to release", s.Spread},
		{Return, "time, from " + side, "until it has come to rest", s.Seconds},
	}
}
