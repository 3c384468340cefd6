package text

import "halfstick/fit/measure"

// Row is a measured quantity under the name that people read, with what it
// means in a few words.
type Row struct {
	Name, Gloss string
	Quantity    *measure.Quantity
}

// Quantities lists what was measured about an axis in the order in which a
// person reads it. Quantities that could not be measured are nil.
func Quantities(a *measure.Axis) []Row {
	rows := []Row{
		{"low stop", "counts at the low end of the throw", a.Travel.Low},
		{"centre", "counts where it rests", a.Travel.Centre},
		{"high stop", "counts at the high end of the throw", a.Travel.High},
		{"range used", "share of all counts that the throw reaches", a.Travel.UsedShare},
		{"step", "smallest change the sensor can make", a.Step},
		{"effective bits", "how finely the whole range is divided", a.EffectiveBits},
		{"noise-free levels", "positions that the noise leaves distinct over the throw", a.NoiseFreeLevels},
		{"rest noise", "standard deviation with hands off, drift and spikes taken out", a.Rest.Sigma},
		{"peak to peak", "largest less smallest reading at rest", a.Rest.PeakToPeak},
		{"drift", "slow movement at rest", a.Rest.DriftPerMinute},
		{"spikes", "readings far off their neighbours, at rest", a.Rest.SpikesPerMinute},
		{"correlation", "of the noise from one report to the next; 0 is none", a.Rest.Correlation},
	}
	if s := a.Return.FromLow; s != nil {
		rows = append(rows,
			Row{"return from low", "where it comes to rest when let go from the low side", s.Mean},
			Row{"spread, from low", "standard deviation from release to release", s.Spread},
			Row{"time, from low", "until it has come to rest", s.Seconds})
	}
	if s := a.Return.FromHigh; s != nil {
		rows = append(rows,
			Row{"return from high", "where it comes to rest when let go from the high side", s.Mean},
			Row{"spread, from high", "standard deviation from release to release", s.Spread},
			Row{"time, from high", "until it has come to rest", s.Seconds})
	}
	return append(rows,
		Row{"return gap", "return from the high side less return from the low side", a.Return.Gap},
		Row{"hysteresis", "largest difference between readings on the way up and down", a.Sweep.Hysteresis},
		Row{"jumps", "sudden changes in a sweep", a.Sweep.JumpsPerSweep},
		Row{"worn from", "where the worn band begins", a.Sweep.WornFrom},
		Row{"worn to", "where it ends", a.Sweep.WornTo},
		Row{"worn noise", "noise in the worn band over that elsewhere", a.Sweep.WornRatio},
		Row{"reports", "how often the device sends", a.Timing.ReportHz},
		Row{"longest stall", "longest silence while the control moved", a.Timing.LongestStallMS},
		Row{"lost samples", "samples in which the device was absent", a.Timing.LostSamples},
	)
}
