package main

import (
	"math"
	"strconv"
	"strings"

	"halfstick/fit/propose"
	"halfstick/fit/stats"
)

// speedCutoff smooths the 1 € filter's own view of the speed, Hz: its authors'
// value.
const speedCutoff = 1.0

// parseSmoothing reads --smooth and --crossover; an empty filter is none.
func parseSmoothing(filter, crossover string, crossoverGiven bool) (propose.Smoothing, error) {
	var s propose.Smoothing
	if filter == "" {
		if crossoverGiven {
			return s, usagef("--crossover belongs to --smooth; name a filter too, such as --smooth first-order:30ms")
		}
		return s, nil
	}
	var ok bool
	if s.Crossover, ok = parseUnit(crossover, "rad/s", 0, math.MaxFloat64); !ok || s.Crossover == 0 {
		return s, usagef("--crossover %s: write it in radians per second, such as 3rad/s", crossover)
	}
	kind, parameters, _ := strings.Cut(filter, ":")
	switch kind {
	case "first-order":
		ms, ok := parseUnit(parameters, "ms", 0.1, 1000)
		if !ok {
			return s, usagef("--smooth %s: write the time constant in milliseconds, 0.1 to 1000, such as first-order:30ms", filter)
		}
		s.Filter = stats.FirstOrder(ms / 1000)
	case "one-euro":
		cutoff, rise, _ := strings.Cut(parameters, ",")
		hz, ok := parseUnit(cutoff, "Hz", 0.1, 100)
		beta, risesOK := parseUnit(rise, "", 0, 1000)
		if !ok || !risesOK {
			return s, usagef("--smooth %s: write the cutoff at rest, 0.1 to 100 Hz, and by how many Hz it rises for a speed of one half-throw a second, 0 to 1000, such as one-euro:1Hz,20", filter)
		}
		s.Filter = stats.OneEuro{MinCutoff: hz, Beta: beta, SpeedCutoff: speedCutoff}
	default:
		return s, usagef("--smooth %s: there is no such filter; write first-order:30ms or one-euro:1Hz,20", filter)
	}
	return s, nil
}

// parseUnit reads a number from low to high, with its unit or without.
func parseUnit(s, unit string, low, high float64) (float64, bool) {
	number := strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(s), unit))
	v, err := strconv.ParseFloat(number, 64)
	return v, err == nil && v >= low && v <= high
}
