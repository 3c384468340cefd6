package measure

import (
	"testing"

	"halfstick/input"
)

// What is read from a flight where it lies is what is read from any other phase,
// held in memory: stalls, how many changes were looked at, bounds, and whether the
// axis moved; pauses and absences cut both alike.
func TestFlightIsReadAsOtherPhases(t *testing.T) {
	seen := func(kind input.PhaseKind) *analysis {
		d := usual()
		rec := d.record(d.whole()...)
		for i := range rec.Stretches {
			if s := &rec.Stretches[i]; s.Phase.Kind == input.Sweep {
				s.Phase = input.Phase{Kind: kind}
			}
		}
		edit(rec, func(i int, row *input.Row) bool {
			if i > 3000 {
				row.AtUS += 400_000 // a pause
			}
			row.Present[0] = i < 2000 || i >= 2010
			return true
		})
		k := newTrack(rec)
		a := newAnalysis(newSeries(k, 0), &Axis{})
		a.clock = deviceClock(k, []int{0})
		a.timing()
		return a
	}
	flight, hold := seen(input.Flight), seen(input.Hold)
	if len(flight.series.loose) == 0 || len(flight.series.segments) >= len(hold.series.segments) {
		t.Fatal("no flight was left where it lies")
	}
	got, want := flight.out.Timing.LongestStallMS, hold.out.Timing.LongestStallMS
	if got == nil || want == nil || *got != *want {
		t.Errorf("longest stall %+v, want %+v", got, want)
	}
	gotLow, gotHigh := flight.series.bounds()
	if low, high := hold.series.bounds(); gotLow != low || gotHigh != high {
		t.Errorf("bounds %v to %v, want %v to %v", gotLow, gotHigh, low, high)
	}
	if got, want := flight.out.Timing.ReportHz, hold.out.Timing.ReportHz; got == nil || *got.Low != *want.Low || got.N != want.N {
		t.Errorf("reports %+v, want %+v", got, want)
	}
}
