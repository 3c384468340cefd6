package text

import (
	"math"
	"testing"

	"halfstick/fit/measure"
)

func quantity(v, low, high float64, unit string) *measure.Quantity {
	return &measure.Quantity{Value: v, Low: &low, High: &high, Unit: unit}
}

func TestQuantity(t *testing.T) {
	nan := math.NaN()
	for _, c := range []struct {
		q    *measure.Quantity
		want string
	}{
		{nil, "not measured"},
		{&measure.Quantity{Value: nan, Unit: "counts"}, "not measured"},
		{&measure.Quantity{Value: math.Inf(1)}, "not measured"},
		{quantity(21.43, 20.88, 21.91, "counts"), "21.4\u00a0counts (20.9 to 21.9)"},
		{quantity(-31804.4, -31810.2, -31799.1, "counts"), "−31804\u00a0counts (−31810 to −31799)"},
		{quantity(0.012345, 0.0118, 0.0129, "1"), "0.0123 (0.0118 to 0.0129)"},
		{quantity(-0.02, -0.4, 0.36, "counts/min"), "0.0\u00a0counts/min (−0.4 to 0.4)"},
		{quantity(64, 64, 64, "counts"), "64\u00a0counts"},
		{&measure.Quantity{Value: 124.96, Unit: "Hz"}, "125\u00a0Hz"},
		{quantity(0.336002, 0.335996, 0.336008, "s"), "0.33600\u00a0s (0.33600 to 0.33601)"},
		{quantity(125.0312, 125.0311, 125.0313, "Hz"), "125.03\u00a0Hz (125.03 to 125.03)"},
		{&measure.Quantity{Value: 0, Unit: "1/min"}, "0\u00a0per minute"},
		{&measure.Quantity{Value: 0.98765, Unit: "1"}, "0.988"},
		{quantity(1, nan, 2, "s"), "1.00\u00a0s"},
		{quantity(-0.1234, -0.13, -0.11, "u"), "−12\u00a0% (−13 to −11)"},
	} {
		if got := Quantity(c.q); got != c.want {
			t.Errorf("Quantity(%+v) = %q, want %q", c.q, got, c.want)
		}
	}
}

func TestNumber(t *testing.T) {
	for _, c := range []struct {
		v        float64
		decimals int
		want     string
	}{
		{-0.0001, 2, "0.00"}, {-0.4, 0, "0"}, {-1.25, 1, "−1.2"}, {3, 0, "3"},
		{math.NaN(), 1, "–"}, {math.Inf(-1), 1, "−∞"}, {math.Inf(1), 1, "∞"},
	} {
		if got := Number(c.v, c.decimals); got != c.want {
			t.Errorf("Number(%g, %d) = %q, want %q", c.v, c.decimals, got, c.want)
		}
	}
}

func TestPercent(t *testing.T) {
	for share, want := range map[float64]string{
		0: "0 %", 0.384: "38 %", 0.042: "4.2 %", 0.00031: "0.031 %", -0.12: "−12 %", 1: "100 %", 0.0999: "10.0 %",
		0.0000004: "below 0.001 %",
	} {
		if got := Percent(share); got != want {
			t.Errorf("Percent(%g) = %q, want %q", share, got, want)
		}
	}
	if got, want := Span(measure.Span{From: -0.9, To: 0.025}), "−90 % to 2.5 %"; got != want {
		t.Errorf("Span = %q, want %q", got, want)
	}
}
