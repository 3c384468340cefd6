package measure

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// show prints a quantity for a sentence: value with its unit, and its interval
// where it has one, to the digits that the interval justifies.
func show(q *Quantity) string {
	places := 0
	half := math.Abs(q.Value) / 100
	if q.Low != nil {
		half = (*q.High - *q.Low) / 2
	}
	if half > 0 {
		places = max(0, min(4, int(math.Ceil(-math.Log10(half)))))
	}
	num := func(v float64) string {
		s := strconv.FormatFloat(v, 'f', places, 64)
		if z, err := strconv.ParseFloat(s, 64); err == nil && z == 0 {
			return "0" // no minus zero
		}
		return strings.Replace(s, "-", "−", 1)
	}
	unit := " " + q.Unit
	switch q.Unit {
	case unitRatio, unitPerMinute, unitPerSweep:
		unit = ""
	}
	if q.Low == nil || *q.Low == *q.High {
		return num(q.Value) + unit
	}
	return fmt.Sprintf("%s%s (%s to %s)", num(q.Value), unit, num(*q.Low), num(*q.High))
}
