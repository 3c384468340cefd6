package propose

import (
	"fmt"
	"math"
	"strings"
)

// percent writes a share as a percentage of half-throw, throw or command.
func percent(share float64) string { return number(100*share) + " %" }

// number writes x with as many decimals as its size deserves.
func number(x float64) string {
	switch a := math.Abs(x); {
	case a >= 100:
		return fmt.Sprintf("%.0f", x)
	case a >= 10:
		return strings.TrimSuffix(fmt.Sprintf("%.1f", x), ".0")
	case a == math.Trunc(a):
		return fmt.Sprintf("%.0f", x)
	case a >= 0.1:
		return fmt.Sprintf("%.2f", x)
	}
	return fmt.Sprintf("%.2g", x)
}

// often writes a rate per minute.
func often(perMinute float64) string {
	if perMinute < 1 {
		return "once in " + number(1/perMinute) + " minutes"
	}
	return number(perMinute) + " times a minute"
}

func join(parts []string) string { return strings.Join(parts, ", ") }
