package propose

import (
	"fmt"
	"math"

	"halfstick/curves"
	"halfstick/fit/measure"
)

const leastMargin = 0.005 // u

// endMargin is the stretch before a stop whose command is already full, in u:
// 0.5 % of half-throw or three deviations of the noise, and what the stop's own
// place is uncertain by, so that full command is reached every time.
func endMargin(a *measure.Axis, stop *measure.Quantity, perU float64) float64 {
	m := math.Max(leastMargin, 3*a.Rest.Sigma.Value/perU)
	if stop != nil {
		slack, _ := measure.StopSlack(stop, perU)
		m += slack
	}
	return roundUp(math.Min(m, 0.2))
}

// stopSays tells of a stop that the calibration cannot rely on, "" of any other.
func stopSays(side string, stop *measure.Quantity, perU float64) string {
	slack, loose := measure.StopSlack(stop, perU)
	switch {
	case !loose:
		return ""
	case stop.Low == nil || stop.High == nil:
		return side + " stop: reached once only, so it may be where a sweep stopped short, and the calibration stands on it all the same; sweep there and back twice more, measure and propose again"
	}
	return fmt.Sprintf("%s stop: known only to ±%s; sweep more, measure and propose again", side, percent(slack))
}

// addStops says which stops the calibration cannot rely on.
func (p *AxisProposal) addStops(r curves.Response) {
	perU := scaleOf(r)
	smaller := math.Min(perU.low, perU.high) // as the findings have it
	for _, s := range []string{
		stopSays("low", p.Measured.Travel.Low, smaller),
		stopSays("high", p.Measured.Travel.High, smaller),
	} {
		if s != "" {
			p.say("%s", s)
		}
	}
}
