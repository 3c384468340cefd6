package measure

import (
	"math"
	"strings"
	"testing"
)

// By hand, from Student's 97.5 % points: n = 3 gives 4.303/√3 = 2.484, of
// which half is 1.242; n = 5 gives 2.776/√5 = 1.2415. n = 5 needs 0.6207;
// 13 give 2.179/√13 = 0.604 and 12 give 2.201/√12 = 0.635. n = 2 gives
// 12.706/√2 = 8.98; 3 give 2.484, below half.
func TestReleasesToHalve(t *testing.T) {
	for n, want := range map[int]int{0: 0, 1: 0, 2: 1, 3: 2, 5: 8} {
		if got := releasesToHalve(n); got != want {
			t.Errorf("after %d releases %d more halve the interval, want %d", n, got, want)
		}
	}
}

// What is asked for is enough, one less is not, and nobody is asked for more than
// mostMore.
func TestMoreToIsTheLeast(t *testing.T) {
	width := func(n int) float64 { return t975(float64(n-1)) / math.Sqrt(float64(n)) }
	for _, n := range []int{2, 3, 4, 10, 50, 333, 334, 2000} {
		for _, share := range []float64{0.99, 0.7, 0.5, 0.1} {
			more := moreTo(n, share)
			if more < 1 || more > mostMore || more < mostMore && width(n+more) > share*width(n) {
				t.Errorf("%d more than %d are not enough for %g of the interval", more, n, share)
			}
			if more > 1 && width(n+more-1) <= share*width(n) {
				t.Errorf("one less than %d more than %d would be enough for %g of the interval", more, n, share)
			}
		}
	}
}

// The promise holds: with as much rest more as it asks for, the interval of
// the rest noise is half as wide.
func TestTooLittleDataSaysHowMuchMore(t *testing.T) {
	d := usual()
	mid := 0.5 * d.most()
	parts := d.whole()
	parts[3] = resting(7.5, mid) // half a second is cut from its start
	a := d.measure(t, parts...)
	f := code(a, "too-little-data")
	if f == nil || !strings.Contains(f.Says, "2 s more of rest") || !strings.Contains(f.Advice, "21 s more of rest, 2 releases more from the low side") ||
		!strings.Contains(f.Advice, "sweeps more there and back") {
		t.Fatalf("too-little-data: %+v", f)
	}
	if q := f.Evidence["rest_seconds_to_halve"]; q.Value != 21 || q.Unit != "s" {
		t.Errorf("evidence: %+v", q)
	}
	parts[3] = resting(28.5, mid)
	long := d.measure(t, parts...).Rest.Sigma
	ratio := (*long.High - *long.Low) / (*a.Rest.Sigma.High - *a.Rest.Sigma.Low)
	if ratio < 0.42 || ratio > 0.58 {
		t.Errorf("with four times the rest the interval is %.2f as wide", ratio)
	}
}
