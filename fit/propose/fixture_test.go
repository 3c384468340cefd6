package propose

import (
	"math"
	"math/rand/v2"

	"halfstick/fit/measure"
	"halfstick/input"
)

// quantity is a measured number with an interval of ±half.
func quantity(value, half float64, n int) *measure.Quantity {
	low, high := value-half, value+half
	return &measure.Quantity{Value: value, Low: &low, High: &high, Unit: "counts", N: n}
}

// measuredAxis is an invented two-sided axis: stops at ±30,000 counts about a
// centre of 100, noise of 30 counts at 125 reports a second, steps of 4.
func measuredAxis(label string) measure.Axis {
	return measure.Axis{
		Device: "stick", Label: label, Kind: string(input.TwoSided),
		Travel: measure.Travel{Low: quantity(-29900, 5, 6), High: quantity(30100, 5, 6), Centre: quantity(100, 10, 10)},
		Step:   quantity(4, 0, 1), NoiseFreeLevels: quantity(60000/(6.6*30), 3, 1),
		Rest:   measure.Rest{Sigma: quantity(30, 1, 3000), Correlation: quantity(0, 0.02, 3000), DriftPerMinute: quantity(0, 0, 24)},
		Return: measure.Return{FromLow: returnSide(0, 20), FromHigh: returnSide(200, 20)},
		Timing: measure.Timing{ReportHz: quantity(125, 1, 1000)},
	}
}

func returnSide(mean, spread float64) *measure.ReturnSide {
	return &measure.ReturnSide{Mean: quantity(mean, 10, 5), Spread: quantity(spread, 5, 5)}
}

// leverAxis is an invented one-sided axis from −32,000 to 32,000 counts.
func leverAxis(label string) measure.Axis {
	a := measuredAxis(label)
	a.Kind = string(input.OneSided)
	a.Travel = measure.Travel{Low: quantity(-32000, 5, 4), High: quantity(32000, 5, 4)}
	a.Return = measure.Return{}
	return a
}

// restOf puts a rest of independent noise into an axis, at the report rate, with
// spikes at every given row.
func restOf(a *measure.Axis, seconds, sigma float64, spike float64, at ...int) {
	rng := rand.New(rand.NewPCG(7, 7))
	n := int(seconds * a.Timing.ReportHz.Value)
	a.Plots.RestSeconds, a.Plots.RestCounts = make([]float64, n), make([]float64, n)
	for i := range n {
		a.Plots.RestSeconds[i] = float64(i) / a.Timing.ReportHz.Value
		a.Plots.RestCounts[i] = math.Round(100 + sigma*rng.NormFloat64())
	}
	for k, i := range at {
		a.Plots.RestCounts[i] += math.Pow(-1, float64(k)) * spike * (1 + 0.02*float64(k))
	}
}

// recording makes a recording of one device with the labels' axes.
type recorded struct{ rec *input.Recording }

func newRecorded(hz float64, kind input.Kind, labels ...string) *recorded {
	d := input.Device{ID: "stick", Name: "Example Stick", GUID: "0300"}
	rec := &input.Recording{Header: input.Header{RateHz: hz}}
	for i, l := range labels {
		d.Axes = append(d.Axes, input.Axis{Label: l, Index: i, Kind: kind})
		rec.Columns = append(rec.Columns, input.Column{Axis: i})
	}
	rec.Header.Devices = []input.Device{d}
	return &recorded{rec}
}

// add appends a stretch of the given seconds; counts are the same for all axes.
func (r *recorded) add(kind input.PhaseKind, seconds float64, counts func(t float64) float64) {
	from := r.rec.Rows()
	for i := range int(seconds * r.rec.Header.RateHz) {
		t := float64(i) / r.rec.Header.RateHz
		r.rec.Times.Append(int64(math.Round(float64(from+i) * 1e6 / r.rec.Header.RateHz)))
		for c := range r.rec.Columns {
			v := math.Min(math.Max(math.Round(counts(t)), -32768), 32767)
			r.rec.Columns[c].Append(int16(v), true)
		}
	}
	r.rec.Stretches = append(r.rec.Stretches, input.Stretch{Phase: input.Phase{Kind: kind}, From: from, To: r.rec.Rows()})
}

func measurementOf(axes ...measure.Axis) *measure.Measurement {
	return &measure.Measurement{Format: "halfstick measurement 1", Axes: axes}
}
