package stats

import (
	"fmt"
	"math"
	"testing"
)

// Lags that come from the power spectrum are those that are summed one by one.
func TestLagSumsFromTheSpectrum(t *testing.T) {
	for _, n := range []int{summedLags + 1, 1000, 1023, 1024, 1025} {
		d := deviations(correlated(random(uint64(n)), n, 0.95))
		lags := lagSums{d: d}
		for k := range n {
			if got, want := lags.at(k), lagSum(d, k); math.Abs(got-want) > 1e-12*lagSum(d, 0) {
				t.Fatalf("%d values, lag %d: %v, want %v", n, k, got, want)
			}
		}
	}
}

// Values that follow themselves over thousands of others are no more work than
// others, and their number is right.
func TestEffectiveNOfLongMemory(t *testing.T) {
	const n, rho = 1_000_000, 0.999
	m, v := EffectiveN(correlated(random(9), n, rho))
	wantRel(t, fmt.Sprint("mean rho=", rho), m/n, (1-rho)/(1+rho), 0.1)
	wantRel(t, fmt.Sprint("variance rho=", rho), v/n, (1-rho*rho)/(1+rho*rho), 0.1)
}
