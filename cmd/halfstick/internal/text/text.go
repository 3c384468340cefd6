package text

import (
	"math"
	"strconv"
	"strings"

	"halfstick/fit/measure"
)

// NotMeasured stands where a quantity is missing.
const NotMeasured = "not measured"

// mostDigits is how many significant digits a value gets at most, however
// narrow its interval.
const mostDigits = 5

// maxDecimals is where more digits stop helping a reader.
const maxDecimals = 6

// Quantity writes value, unit and 95 % interval: "21.4 counts (20.9 to 21.9)".
// A nil quantity, or one that is no number, reads NotMeasured.
func Quantity(q *measure.Quantity) string {
	v := Value(q)
	if iv := Interval(q); iv != "" {
		return v + " (" + iv + ")"
	}
	return v
}

// Value writes a quantity's value and unit without the interval.
func Value(q *measure.Quantity) string {
	if !Measured(q) {
		return NotMeasured
	}
	return WithUnit(Bare(q), q.Unit)
}

// Bare writes a quantity's value alone, for tables with a column of units.
func Bare(q *measure.Quantity) string {
	if !Measured(q) {
		return NotMeasured
	}
	q = shown(q)
	return Number(q.Value, Decimals(q))
}

// Interval writes "20.9 to 21.9", or nothing where no interval can be given or
// the number is exact.
func Interval(q *measure.Quantity) string {
	if !Measured(q) || !hasInterval(q) || *q.Low == *q.High {
		return ""
	}
	q = shown(q)
	d := Decimals(q)
	return Number(*q.Low, d) + " to " + Number(*q.High, d)
}

// shown is q as people read it: positions in percent instead of u.
func shown(q *measure.Quantity) *measure.Quantity {
	if q.Unit != position {
		return q
	}
	percent := *q
	percent.Value *= 100
	if hasInterval(q) {
		low, high := 100**q.Low, 100**q.High
		percent.Low, percent.High = &low, &high
	}
	return &percent
}

// Measured tells whether q holds a number that can be written.
func Measured(q *measure.Quantity) bool {
	return q != nil && !math.IsNaN(q.Value) && !math.IsInf(q.Value, 0)
}

func hasInterval(q *measure.Quantity) bool {
	return q.Low != nil && q.High != nil && !math.IsNaN(*q.Low) && !math.IsNaN(*q.High)
}

// Decimals is the number of decimals that q's interval bears out: one
// significant digit of its width, two where the first is a 1. Without an
// interval, or with one of no width, it is three significant digits of the
// value, and none for whole numbers.
func Decimals(q *measure.Quantity) int {
	if hasInterval(q) {
		if w := *q.High - *q.Low; w > 0 && !math.IsInf(w, 0) {
			digits := 1
			if first := w / math.Pow(10, math.Floor(math.Log10(w))); first < 1.95 {
				digits = 2
			}
			largest := max(math.Abs(q.Value), math.Abs(*q.Low), math.Abs(*q.High))
			return min(significantDecimals(w, digits), significantDecimals(largest, mostDigits))
		}
	}
	if q.Value == math.Trunc(q.Value) && math.Abs(q.Value) >= 10 {
		return 0
	}
	return significantDecimals(q.Value, 3)
}

// significantDecimals is how many decimals show v with the given number of
// significant digits.
func significantDecimals(v float64, digits int) int {
	v = math.Abs(v)
	if v == 0 {
		return 0
	}
	d := digits - 1 - int(math.Floor(math.Log10(v)))
	return min(max(d, 0), maxDecimals)
}

// Number writes v with the given number of decimals and a true minus sign;
// what rounds to zero carries no sign.
func Number(v float64, decimals int) string {
	switch {
	case math.IsNaN(v):
		return "–"
	case math.IsInf(v, 1):
		return "∞"
	case math.IsInf(v, -1):
		return "−∞"
	}
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if digits, negative := strings.CutPrefix(s, "-"); negative {
		if strings.Trim(digits, "0.") == "" {
			return digits
		}
		return "−" + digits
	}
	return s
}

// Significant writes v with the given number of significant digits.
func Significant(v float64, digits int) string {
	return Number(v, significantDecimals(v, digits))
}

// Percent writes a share (1 is all) in percent: two significant digits below
// 10 %, whole percents above. "38 %", "4.2 %", "0.031 %".
func Percent(share float64) string {
	return PercentValue(100 * share)
}

// PercentValue writes a number that is in percent already.
func PercentValue(percent float64) string {
	switch size := math.Abs(percent); {
	case size >= 10:
		return Number(percent, 0) + " %"
	case size > 0 && size < 0.0005:
		return "below 0.001 %"
	}
	return Number(percent, min(significantDecimals(percent, 2), 3)) + " %"
}

// Span writes a stretch of positions in percent of half-throw (of throw, for a
// one-sided axis): "−12 % to 3 %".
func Span(s measure.Span) string {
	return Percent(s.From) + " to " + Percent(s.To)
}

// position is the unit of positions in the files.
const position = "u"

// units are the spellings of the files that read better another way.
var units = map[string]string{
	"":        "",
	"1":       "",
	"%":       "%",
	"1/min":   "per minute",
	"1/sweep": "per sweep",
	position:  "%",
}

// Unit is how a unit reads: pure numbers have none.
func Unit(unit string) string {
	if u, known := units[unit]; known {
		return u
	}
	return unit
}

// WithUnit joins a number and its unit with a space that does not break.
func WithUnit(number, unit string) string {
	if u := Unit(unit); u != "" {
		return number + "\u00a0" + u
	}
	return number
}
