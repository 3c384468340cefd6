package propose

import (
	"testing"

	"halfstick/curves"
)

// What is left out is not counted, also where one stretch lies within another or
// reaches into the next, and all else is counted once.
func TestTallyPassesOverWhatIsLeftOut(t *testing.T) {
	full := curves.StraightThrough(curves.TwoSided)
	part := flownPart{active: full.Compile(), left: []span{{0, 2}, {4, 12}, {5, 7}, {11, 15}, {15, 16}, {18, 20}}}
	for i := range 20 {
		part.rows = append(part.rows, flightRow{int32(i), 100_000})
		part.counts = append(part.counts, int16(1000*i))
	}
	flight := flownAxis{parts: []flownPart{part, part}}.tally(bothTogether)
	want := map[int]float64{}
	for _, i := range []int{2, 3, 16, 17} {
		want[cellOf(part.command(i))] = 0.2 // in both parts
	}
	for c, w := range flight.weight {
		if w != want[c] {
			t.Errorf("cell %d has %g s, want %g s", c, w, want[c])
		}
	}
	near(t, "all", flight.total, 0.8, 1e-12)
}
