package measure

import (
	"math"
	"testing"
)

// Reports are followed without their grid: one sample each, and none of those that
// came while the recorder was late. Where it is late for long at every row, their
// number is that of the rows; found by FuzzRecording.
func TestFollowedOverLateRows(t *testing.T) {
	const period, row = 0.010, 0.002
	late := func(i int) float64 { return 0.2 * math.Floor(float64(i)/250) } // every half second
	var s segment
	for i := range 1000 {
		at := row*float64(i) + late(i)
		s.t, s.x = append(s.t, at), append(s.x, math.Floor(at/period+1e-9))
	}
	got := s.followed(period, row)
	if n := len(got.t); n < 194 || n > 206 {
		t.Errorf("%d samples of 200 reports that were seen", n)
	}
	again := 0
	for i, at := range got.t {
		if report := math.Floor((at+period/2)/period + 1e-9); i > 0 && math.Abs(got.x[i]-report) > 1 {
			t.Errorf("at %.3f s report %.0f, want %.0f", at, got.x[i], report)
		}
		if i > 0 && got.x[i] == got.x[i-1] {
			again++
		}
	}
	if again > 3 { // one for each time that the recorder was late
		t.Errorf("%d samples repeat the one before", again)
	}
	apart := segment{t: make([]float64, 100), x: make([]float64, 100)}
	for i := range apart.t {
		apart.t[i] = 0.2 * float64(i)
	}
	if n := len(apart.followed(1e-6, row).t); n > 100 {
		t.Errorf("%d samples of 100 rows", n)
	}
}
