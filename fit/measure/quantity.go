package measure

import "math"

// Units of quantities.
const (
	unitCounts          = "counts"
	unitCountsPerMinute = "counts/min"
	unitPercent         = "%"
	unitHz              = "Hz"
	unitMS              = "ms"
	unitSeconds         = "s"
	unitBits            = "bits"
	unitLevels          = "levels"
	unitPerMinute       = "1/min"
	unitPerSweep        = "1/sweep"
	unitRatio           = "1"
	unitPosition        = "u"
	unitSamples         = "samples"
)

// fullSpan is the number of counts between the ends of the scale.
const fullSpan = 65535.0

// bare is a quantity without an interval; method says why there is none.
func bare(v float64, unit string, n int, method string) *Quantity {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return nil
	}
	return &Quantity{Value: v, Unit: unit, N: n, Method: method}
}

// within is a quantity with a 95 % interval. An interval that is not finite is
// left out and the method says so.
func within(v, low, high float64, unit string, n int, method string) *Quantity {
	q := bare(v, unit, n, method)
	if q == nil {
		return nil
	}
	if math.IsNaN(low) || math.IsInf(low, 0) || math.IsNaN(high) || math.IsInf(high, 0) {
		q.Method += "; too few values for an interval"
		return q
	}
	low, high = math.Min(low, high), math.Max(low, high)
	q.Low, q.High = &low, &high
	return q
}

// notNegative lifts the ends of a non-negative quantity's interval to 0.
func notNegative(q *Quantity) *Quantity {
	if q == nil || q.Low == nil {
		return q
	}
	low, high := math.Max(0, *q.Low), math.Max(0, *q.High)
	q.Low, q.High = &low, &high
	return q
}

// lower is the interval's low end, or the value where there is no interval.
func (q *Quantity) lower() float64 {
	if q.Low != nil {
		return *q.Low
	}
	return q.Value
}

// scaled is q with value and interval multiplied by k, in another unit.
func (q *Quantity) scaled(k float64, unit string) *Quantity {
	if q.Low == nil {
		return bare(q.Value*k, unit, q.N, q.Method)
	}
	return within(q.Value*k, *q.Low*k, *q.High*k, unit, q.N, q.Method)
}

// moved is q with value and interval shifted.
func (q *Quantity) moved(by float64) *Quantity {
	if q.Low == nil {
		return bare(q.Value+by, q.Unit, q.N, q.Method)
	}
	return within(q.Value+by, *q.Low+by, *q.High+by, q.Unit, q.N, q.Method)
}
