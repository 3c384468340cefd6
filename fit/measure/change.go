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
const changeMethod = "difference: new minus old, with its 95 % interval from the two intervals (method of variance estimates recovery, Zou and Donner 2008), a step's rounding added for positions; test: Student's t, or F for deviations, with as many degrees of freedom as the intervals had; Holm (1979) over all quantities of all axes holds the chance of one or more false cries to 5 %"

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
	return out
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
	var p float64
	switch {
	case d == 0:
		p = 1
	case c.kind == deviation:
		p = deviationsDiffer(old, new, c.values == ofN)
	default:
		p = valuesDiffer(
			estimate{old.Value, reach(old, d > 0), c.freedom(old)},
			estimate{new.Value, reach(new, d < 0), c.freedom(new)})
	}
	if math.IsNaN(p) {
		out.Why = "no scatter to test against"
		return out
	}
	out.P = &p
	return out
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

// deviationsDiffer is the two-sided F test. The degrees of freedom are n−1
// where the deviation is of few values; else they are those of which a
// chi-squared interval is as wide: ln(high/low) = 2·1.96/√(2ν).
func deviationsDiffer(old, new *Quantity, few bool) float64 {
	free := func(q *Quantity) float64 {
		if few {
			return float64(q.N - 1)
		}
		w := math.Log(*q.High / *q.Low)
		return 2 * 1.96 * 1.96 / (w * w)
	}
	if old.Value <= 0 || new.Value <= 0 {
		return math.NaN()
	}
	fo, fn := free(old), free(new)
	if !(fo >= 1) || !(fn >= 1) || math.IsInf(fo, 1) || math.IsInf(fn, 1) {
		return math.NaN()
	}
	ratio := new.Value * new.Value / (old.Value * old.Value)
	below := distuv.F{D1: fn, D2: fo}.CDF(ratio)
	above := distuv.F{D1: fo, D2: fn}.CDF(1 / ratio) // keeps its digits where the first is near 1
	return 2 * math.Min(0.5, math.Min(below, above))
}
