package sheet

import (
	"slices"
	"strings"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/fit/measure"
)

// group is a block of rows of the table of measurements.
type group struct {
	Name string
	Rows []row
}

// row is one quantity. Method numbers its entry in the list below the table.
type row struct {
	Name, Value, Interval, Unit string
	N, Method                   int
}

// named is a quantity that may be missing.
type named struct {
	name string
	q    *measure.Quantity
}

// measured sets an axis's quantities as a table, with the methods gathered
// below it, and names those that could not be measured.
func measured(a *measure.Axis) (groups []group, methods []string, missing string) {
	var absent []string
	for _, block := range blocks(a) {
		g := group{Name: block.name}
		for _, n := range block.quantities {
			if !text.Measured(n.q) {
				absent = append(absent, n.name)
				continue
			}
			at := slices.Index(methods, n.q.Method)
			if at < 0 && n.q.Method != "" {
				methods = append(methods, n.q.Method)
				at = len(methods) - 1
			}
			g.Rows = append(g.Rows, row{
				Name: n.name, Value: text.Bare(n.q), Interval: text.Interval(n.q), Unit: text.Unit(n.q.Unit),
				N: n.q.N, Method: at + 1,
			})
		}
		if len(g.Rows) > 0 {
			groups = append(groups, g)
		}
	}
	return groups, methods, strings.Join(absent, ", ")
}

type block struct {
	name       string
	quantities []named
}

func blocks(a *measure.Axis) []block {
	sweep := block{"Sweep", []named{
		{"hysteresis", a.Sweep.Hysteresis}, {"jumps", a.Sweep.JumpsPerSweep},
	}}
	if a.Sweep.WornRatio != nil {
		sweep.quantities = append(sweep.quantities, named{"worn band from", a.Sweep.WornFrom},
			named{"worn band to", a.Sweep.WornTo}, named{"its noise, times the rest's", a.Sweep.WornRatio})
	}
	rest := block{"Rest", []named{
		{"rest noise σ", a.Rest.Sigma}, {"σ, ordinary estimate", a.Rest.SigmaOrdinary}, {"peak to peak", a.Rest.PeakToPeak},
		{"drift", a.Rest.DriftPerMinute}, {"spikes", a.Rest.SpikesPerMinute}, {"lag-1 correlation", a.Rest.Correlation},
	}}
	for _, p := range a.Rest.Periodic {
		rest.quantities = append(rest.quantities, named{"hum at", &p.FrequencyHz}, named{"hum, amplitude", &p.Amplitude})
	}
	couplings := block{name: "Coupling"}
	for _, c := range a.Coupling {
		couplings.quantities = append(couplings.quantities, named{"with " + c.With, &c.Share})
	}
	travel := block{"Travel", []named{
		{"low stop", a.Travel.Low}, {"high stop", a.Travel.High}, {"share of the scale used", a.Travel.UsedShare},
	}}
	out := []block{travel, {"Resolution", []named{
		{"step", a.Step}, {"effective bits", a.EffectiveBits}, {"noise-free levels", a.NoiseFreeLevels},
	}}, rest, sweep, {"Timing", []named{
		{"report rate", a.Timing.ReportHz}, {"longest stall", a.Timing.LongestStallMS}, {"lost samples", a.Timing.LostSamples},
	}}, couplings}
	if a.Kind == "one-sided" {
		return out
	}
	out[0].quantities = slices.Insert(travel.quantities, 1, named{"centre", a.Travel.Centre})
	return slices.Insert(out, 3, returns(&a.Return))
}

func returns(r *measure.Return) block {
	b := block{name: "Return"}
	for _, side := range []struct {
		name string
		sum  *measure.ReturnSide
	}{{"from low side", r.FromLow}, {"from high side", r.FromHigh}} {
		if side.sum == nil {
			side.sum = &measure.ReturnSide{}
		}
		b.quantities = append(b.quantities, named{side.name, side.sum.Mean},
			named{"spread " + side.name, side.sum.Spread}, named{"time to rest " + side.name, side.sum.Seconds})
	}
	return block{b.name, append(b.quantities, named{"return gap", r.Gap})}
}
