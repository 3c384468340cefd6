package propose

import (
	"fmt"
	"math"

	"halfstick/curves"
	"halfstick/fit/measure"
)

const (
	leastMargin = 0.005 // u
	looseStop   = 0.02  // u: a stop that is known no better is worth a word (common practice, no source)
)

// endMargin is the stretch before a stop whose command is already full, in u:
// 0.5 % of half-throw or three deviations of the noise, and what the stop's own
// place is uncertain by, so that full command is reached every time.
func endMargin(a *measure.Axis, stop *measure.Quantity, perU float64) float64 {
	m := math.Max(leastMargin, 3*a.Rest.Sigma.Value/perU)
	if stop != nil && stop.Low != nil && stop.High != nil {
		m += (*stop.High - *stop.Low) / 2 / perU
	}
	return roundUp(math.Min(m, 0.2))
}

// stopSays tells of a stop that the calibration cannot rely on, "" of any other.
func stopSays(side string, stop *measure.Quantity, perU float64) string {
	switch {
	case stop.Low == nil || stop.High == nil:
		return side + " stop: reached once only, so it may be where a sweep stopped short, and the calibration stands on it all the same; sweep there and back twice more, measure and propose again"
	case (*stop.High-*stop.Low)/2 > looseStop*perU:
		return fmt.Sprintf("%s stop: known only to ±%s; sweep more, measure and propose again", side, percent((*stop.High-*stop.Low)/2/perU))
	}
	return ""
}

// addStops says which stops the calibration cannot rely on.
func (p *AxisProposal) addStops(r curves.Response) {
	perU := scaleOf(r)
	for _, s := range []string{
		stopSays("low", p.Measured.Travel.Low, perU.low),
		stopSays("high", p.Measured.Travel.High, perU.high),
	} {
		if s != "" {
			p.say("%s", s)
		}
	}
}
