package measure

import (
	"errors"
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// ChangeFormatName is the format field of a change.
const ChangeFormatName = "halfstick change 1"

// falseCries is the chance of one or more cries of change between two
// recordings of a device that has not changed, over all its quantities.
const falseCries = 0.05

// changeMethod says how a change is told from noise.
const changeMethod = "difference: new minus old, with its 95 % interval from the two intervals (method of variance estimates recovery, Zou and Donner 2008), a step's rounding added for positions; test: Student's t, or F for deviations, with as many degrees of freedom as the intervals had, for the noise along the throw that of the band which differs most, times the number of bands; Holm (1979) over all quantities of all axes holds the chance of one or more false cries to 5 %"

// Change is what differs between two recordings of the same devices.
type Change struct {
	Format     string       `json:"format"` // "halfstick change 1"
	Old        string       `json:"old"`
	New        string       `json:"new"`
	Method     string       `json:"method"`
	FalseCries float64      `json:"false_cries"` // chance of any, over all tests
	Tested     int          `json:"tested"`
	Changed    int          `json:"changed"`
	Axes       []AxisChange `json:"axes"`
}

// AxisChange is what differs on one axis.
type AxisChange struct {
	Device     string           `json:"device"`
	Label      string           `json:"label"`
	Index      int              `json:"index"`
	Quantities []QuantityChange `json:"quantities"`
}

// QuantityChange compares one quantity. A nil P was not tested; Why says why.
type QuantityChange struct {
	Quantity   string    `json:"quantity"` // its path in the measurement
	Name       string    `json:"name"`
	Old        *Quantity `json:"old"`
	New        *Quantity `json:"new"`
	Difference *Quantity `json:"difference"`
	P          *float64  `json:"p"` // of this test alone, before Holm
	Changed    bool      `json:"changed"`
	Why        string    `json:"why,omitempty"`
}

// Compare tells what changed from old to new, which must have measured the
// same axes of the same devices; else it is an error that names the axis. A
// quantity that only one of them holds, or that has no interval, is listed but
// not tested.
func Compare(old, new *Measurement) (*Change, error) {
	if old == nil || new == nil {
		return nil, errors.New("two measurements are needed to tell what changed; measure an old and a new recording")
	}
	if err := sameAxes(old, new); err != nil {
		return nil, err
	}
	c := &Change{Format: ChangeFormatName, Old: old.Recording, New: new.Recording, Method: changeMethod, FalseCries: falseCries}
	for i := range old.Axes {
		o := &old.Axes[i]
		c.Axes = append(c.Axes, axisChange(o, twin(new, o)))
	}
	c.holm()
	return c, nil
}

func sameAxes(old, new *Measurement) error {
	for _, pair := range [][2]*Measurement{{old, new}, {new, old}} {
		for i := range pair[0].Axes {
			a := &pair[0].Axes[i]
			if twin(pair[1], a) == nil {
				return fmt.Errorf("%s has no axis like %s.%s (axis %d, %s) of %s; compare two recordings of the same devices with the same axes",
					pair[1].Recording, a.Device, a.Label, a.Index, a.Kind, pair[0].Recording)
			}
		}
	}
	return nil
}

// twin is the same axis in another measurement, nil if there is none.
func twin(m *Measurement, a *Axis) *Axis {
	for i := range m.Axes {
		b := &m.Axes[i]
		if a.Device == b.Device && a.Label == b.Label && a.Index == b.Index && a.Kind == b.Kind {
			return b
		}
	}
	return nil
}

func axisChange(old, new *Axis) AxisChange {
	out := AxisChange{Device: old.Device, Label: old.Label, Index: old.Index}
	step := 0.0
	for _, a := range []*Axis{old, new} {
		if a.Step != nil {
			step = math.Max(step, a.Step.Value)
		}
	}
	for _, c := range compared(old) {
		if q := c.compare(c.get(old), c.get(new), step); q != nil {
			out.Quantities = append(out.Quantities, *q)
		}
	}
	if q := noiseAlong(old, new); q != nil {
		out.Quantities = append(out.Quantities, *q)
	}
	return out
}

// noiseAlong compares the noise along the throw band by band and gives the band
// that differs most, its chance times the number of bands compared
// (Bonferroni): so a band that wears is seen although the older recording had
// none; where both have one, the bands at its ends are left out. It is nil where
// no band is in both, and not tested where there are
// spikes: one of them in a band passes for noise there.
func noiseAlong(old, new *Axis) *QuantityChange {
	var worst *QuantityChange
	bands := 0
	for i := range min(len(old.Sweep.Bands), len(new.Sweep.Bands)) {
		o, n := old.Sweep.Bands[i], new.Sweep.Bands[i]
		c := comparison{path: "sweep.bands", kind: deviation, values: ofMany,
			name: fmt.Sprintf("noise at %.0f to %.0f %%", 100*o.From, 100*o.To)}
		if o.Sigma == nil || n.Sigma == nil || o.Span != n.Span || partlyWorn(old, o.Span) && partlyWorn(new, o.Span) {
			continue
		}
		q := c.compare(o.Sigma, n.Sigma, 0)
		if q.P == nil {
			continue
		}
		bands++
		if worst == nil || *q.P < *worst.P {
			worst = q
		}
	}
	if worst != nil && (spiky(old) || spiky(new)) {
		worst.P, worst.Why = nil, "spikes pass for noise along the throw"
	} else if worst != nil {
		p := math.Min(1, float64(bands)**worst.P)
		worst.P = &p
	}
	return worst
}

// partlyWorn tells whether an end of the worn stretch lies in or beside a band:
// how noisy such a band is depends on how many reports fall on either side.
func partlyWorn(a *Axis, band Span) bool {
	for _, end := range []*Quantity{a.Sweep.WornFrom, a.Sweep.WornTo} {
		if end != nil && edge(end, 1) > band.From && edge(end, -1) < band.To {
			return true
		}
	}
	return false
}

func spiky(a *Axis) bool {
	q := a.Rest.SpikesPerMinute
	return q == nil || q.Value > 0
}

// estimate is one side of a comparison: its value, how far its 95 % interval
// reaches towards the other value, and its degrees of freedom.
type estimate struct {
	value, half, free float64
}

// compare is nil where neither recording holds the quantity.
func (c comparison) compare(old, new *Quantity, step float64) *QuantityChange {
	if old == nil && new == nil {
		return nil
	}
	out := &QuantityChange{Quantity: c.path, Name: c.name, Old: old, New: new}
	switch {
	case old == nil:
		out.Why = "measured in the new recording only"
		return out
	case new == nil:
		out.Why = "measured in the old recording only"
		return out
	}
	d := new.Value - old.Value
	if old.Low == nil || new.Low == nil {
		out.Difference = bare(d, new.Unit, min(old.N, new.N), "new minus old; no interval, as one of them has none")
		out.Why = "without an interval there is no test"
		return out
	}
	// Rounding moves a position by up to half a step from day to day, however
	// little it scattered on each.
	reach := func(q *Quantity, up bool) float64 {
		round := 0.0
		if c.kind == place {
			round = t975(c.freedom(q)) * step / math.Sqrt(12)
		}
		if up {
			return math.Hypot(*q.High-q.Value, round)
		}
		return math.Hypot(q.Value-*q.Low, round)
	}
	out.Difference = within(d, d-math.Hypot(reach(new, false), reach(old, true)), d+math.Hypot(reach(new, true), reach(old, false)),
		new.Unit, min(old.N, new.N), "new minus old, interval from the two intervals")
	if c.untested != "" {
		out.Why = c.untested
		return out
	}
	p := 1.0
	if d != 0 {
		p = c.differ(old, new, reach)
	}
	if math.IsNaN(p) {
		out.Why = "no scatter to test against"
		return out
	}
	out.P = &p
	return out
}

// differ is the chance of so large a difference between two that are one in
// truth. Where an interval of a deviation begins at 0, nearly all of the
// scatter may be noise and rounding, and the F test has nothing to stand on:
// then the ends of the intervals that face each other are all that is known.
func (c comparison) differ(old, new *Quantity, reach func(q *Quantity, up bool) float64) float64 {
	if c.kind == deviation && *old.Low > 0 && *new.Low > 0 {
		return deviationsDiffer(old, new, c.values == ofN)
	}
	up := new.Value > old.Value
	return valuesDiffer(
		estimate{old.Value, reach(old, up), c.freedom(old)},
		estimate{new.Value, reach(new, !up), c.freedom(new)})
}

// freedom is the degrees of freedom behind q's interval.
func (c comparison) freedom(q *Quantity) float64 {
	if c.values == ofMany {
		return math.Inf(1)
	}
	return math.Max(1, float64(q.N-1))
}

// valuesDiffer is the two-sided chance of a difference as large as that of two
// values whose truths are one: Welch's test, its standard errors read back
// from the intervals.
func valuesDiffer(old, new estimate) float64 {
	vo, vn := math.Pow(old.half/t975(old.free), 2), math.Pow(new.half/t975(new.free), 2)
	if !(vo+vn > 0) {
		return math.NaN()
	}
	free := (vo + vn) * (vo + vn) / (vo*vo/old.free + vn*vn/new.free)
	return 2 * studentCDF(-math.Abs(new.value-old.value)/math.Sqrt(vo+vn), free)
}

// t975 is Student's 97.5 % point, the Gaussian one for infinite freedom.
func t975(free float64) float64 {
	if math.IsInf(free, 1) {
		return distuv.UnitNormal.Quantile(0.975)
	}
	return distuv.StudentsT{Sigma: 1, Nu: free}.Quantile(0.975)
}

func studentCDF(t, free float64) float64 {
	if math.IsInf(free, 1) || free > 1e6 {
		return distuv.UnitNormal.CDF(t)
	}
	return distuv.StudentsT{Sigma: 1, Nu: free}.CDF(t)
}

// deviationsDiffer is the two-sided F test. The degrees of freedom are those of
// which a chi-squared interval is as wide, and for few values at most n−1:
// taking noise off a deviation widens its interval.
func deviationsDiffer(old, new *Quantity, few bool) float64 {
	free := func(q *Quantity) float64 {
		f := freedomOf(*q.High / *q.Low)
		if few {
			f = math.Min(f, float64(q.N-1))
		}
		return f
	}
	if old.Value <= 0 || new.Value <= 0 {
		return math.NaN()
	}
	fo, fn := free(old), free(new)
	if fo <= leastFreedom || fn <= leastFreedom {
		return math.NaN()
	}
	ratio := new.Value * new.Value / (old.Value * old.Value)
	below := distuv.F{D1: fn, D2: fo}.CDF(ratio)
	above := distuv.F{D1: fo, D2: fn}.CDF(1 / ratio) // keeps its digits where the first is near 1
	return 2 * math.Min(0.5, math.Min(below, above))
}

// leastFreedom and mostFreedom bound the degrees of freedom that are looked for.
const leastFreedom, mostFreedom = 0.5, 1e7

// freedomOf is the degrees of freedom with which the ends of a deviation's 95 %
// chi-squared interval have a ratio, √(χ²(0.975)/χ²(0.025)), which falls as the
// degrees of freedom grow.
func freedomOf(ratio float64) float64 {
	low, high := leastFreedom, mostFreedom
	for range 60 {
		mid := math.Sqrt(low * high)
		chi := distuv.ChiSquared{K: mid}
		if math.Sqrt(chi.Quantile(0.975)/chi.Quantile(0.025)) > ratio {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}
