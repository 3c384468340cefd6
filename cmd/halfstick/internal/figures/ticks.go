package figures

import (
	"math"

	"gonum.org/v1/plot"

	"halfstick/cmd/halfstick/internal/text"
)

// ticks marks an axis at whole multiples of 1, 2 or 5 times a power of ten,
// near the wanted number of them, all labels with the same decimals.
type ticks struct {
	about int
	// quarters allows steps of 2.5 as well, for axes in percent.
	quarters bool
	// bare leaves the labels out (a panel that shares its neighbour's axis).
	bare bool
}

// Ticks implements plot.Ticker.
func (t ticks) Ticks(low, high float64) []plot.Tick {
	width := high - low
	if !(width > 0) || math.IsInf(width, 0) {
		return nil
	}
	step := niceStep(width/float64(t.about), t.quarters)
	decimals := max(0, -int(math.Floor(math.Log10(step)+1e-9)))
	if t.quarters && math.Abs(step*math.Pow10(decimals)-math.Round(step*math.Pow10(decimals))) > 1e-6 {
		decimals++
	}
	var out []plot.Tick
	for i := math.Ceil(low/step - 1e-9); i <= math.Floor(high/step+1e-9); i++ {
		label := text.Number(i*step, decimals)
		if t.bare {
			label = " " // an empty label would make it a minor tick
		}
		out = append(out, plot.Tick{Value: min(max(i*step, low), high), Label: label})
	}
	return out
}

// niceStep is the least of 1, 2, 5 (or 1, 2.5, 5) times a power of ten that is
// at least step.
func niceStep(step float64, quarters bool) float64 {
	power := math.Pow(10, math.Floor(math.Log10(step)))
	second := 2.0
	if quarters {
		second = 2.5
	}
	for _, m := range []float64{1, second, 5} {
		if m*power >= step*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}
