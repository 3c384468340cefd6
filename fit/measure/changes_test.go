package measure

import (
	"math"
	"slices"
	"testing"

	"halfstick/fit/stats"
	"halfstick/input"
)

// Rows in which any column changed are marked, once, where that row and the one
// before are there, not after a pause; their moments lie half a row before them.
func TestChangesOfADevice(t *testing.T) {
	rec := rows(300, 100, input.Stretch{To: 300})
	second := input.Column{Axis: 1}
	var want []int
	for i := range 300 {
		second.Append(int16(i/70), i < 200 || i > 205)
	}
	rec.Header.Devices[0].Axes = append(rec.Header.Devices[0].Axes, input.Axis{Label: "other"})
	rec.Columns = append(rec.Columns, second)
	rec.Columns[0] = input.Column{}
	for i := range 300 {
		rec.Columns[0].Append(int16(i/64+i/63), true)
	}
	edit(rec, func(i int, row *input.Row) bool {
		if i >= 128 {
			row.AtUS += 300_000 // a pause
		}
		return true
	})
	for i := 1; i < 300; i++ {
		// Of the second column 210 is there again, from 206 on.
		if i%70 == 0 || i%64 == 0 && i != 128 || i%63 == 0 {
			want = append(want, i)
		}
	}
	c := newTrack(rec).changesOf([]int{0, 1})
	if got := slices.Collect(c.rows()); !slices.Equal(got, want) || c.count() != len(want) {
		t.Fatalf("%d rows %v, want %v", c.count(), got, want)
	}
	moments := slices.Collect(c.moments())
	for i, row := range want {
		if at := c.track.seconds(row) - 0.005; math.Abs(moments[i]-at) > 1e-9 {
			t.Errorf("row %d: moment %v, want %v", row, moments[i], at)
		}
	}
}

// Windows begin with a change, last half a second and hold so many or more; of the
// gaps in them one in a hundred is shorter than the one that is given.
func TestPaceOfChanges(t *testing.T) {
	rec := rows(4000, 1000, input.Stretch{To: 4000})
	rec.Columns[0] = input.Column{}
	v := int16(0)
	var marked []int
	for i := range 4000 {
		// Every fourth row for two seconds, now and then the row after it too;
		// then too few.
		if i > 0 && (i < 2000 && (i%4 == 0 || i%500 == 1) || i%100 == 0) {
			v++
			marked = append(marked, i)
		}
		rec.Columns[0].Append(v, true)
	}
	c := newTrack(rec).changesOf([]int{0})
	all, gap := c.pace()
	if len(all) != 4 || gap != 4 {
		t.Fatalf("%d windows, shortest gap %v rows; want 4 and 4", len(all), gap)
	}
	for _, w := range all {
		if w.last-w.first >= windowSeconds || w.last-w.first < 0.95*windowSeconds || math.Abs(w.rate()-250) > 5 {
			t.Errorf("window %+v, %v Hz", w, w.rate())
		}
	}
	n := 0
	for times := range c.windows(1) {
		n += len(times)
	}
	if n != len(marked) {
		t.Errorf("%d changes in the windows, want %d", n, len(marked))
	}
	if few := len(slices.Collect(c.windows(200))); few != 0 {
		t.Errorf("%d windows of 200 changes", few)
	}
}

// Late in a long recording without labels, behind a pause, of a device whose clock
// wanders by cycles against the recorder's, what is found is read report by report,
// and none is read twice or left out.
func TestReportsLateInALongRecording(t *testing.T) {
	const reportHz = 123.7
	d := usual()
	d.reportHz = reportHz
	half := d.most() / 2
	flown := part{phase: input.Phase{Kind: input.NoPhase}, seconds: 900, at: func(t float64) float64 {
		return half * (1 + 0.3*math.Sin(t/3)*math.Sin(t/70))
	}}
	rec := d.record(append(append(d.whole(), flown, flown), d.whole()...)...)
	rec.Stretches = []input.Stretch{{To: rec.Rows()}}
	from := rec.Rows() - 60*int(d.rateHz)
	edit(rec, func(i int, row *input.Row) bool {
		at := float64(row.AtUS) * 1e-6
		row.AtUS += int64(1e6 * 3 / reportHz * math.Sin(at/500)) // three cycles
		if i >= from-200*int(d.rateHz) {
			row.AtUS += 240_001_234 // a pause
		}
		return true
	})
	k := newTrack(rec)
	a := newAnalysis(newSeries(k, 0), &Axis{})
	findRests([]*analysis{a})
	a.cutTouched()
	a.findMoves()
	a.clock = deviceClock(k, []int{0})
	if a.clock.comb == nil || math.Abs(a.clock.period*reportHz-1) > 1e-4 {
		t.Fatalf("period %v s", a.clock.period)
	}
	late := 0
	for _, g := range a.series.of(input.Rest) {
		if g.t[0] < k.seconds(from) {
			continue
		}
		late++
		x := a.reports(g)
		if n := g.seconds() * reportHz; math.Abs(float64(len(x.x))-n) > 2 {
			t.Errorf("%d reports in %.2f s, want %.0f", len(x.x), g.seconds(), n)
		}
		if r := stats.Lag1(x.x); math.Abs(r) > 0.06 {
			t.Errorf("at %.0f s reports of white noise have correlation %.3f", g.t[0], r)
		}
		// A report is seen within a row, a quarter of a period.
		var off []float64
		for i := 1; i < len(g.x); i++ {
			if g.x[i] != g.x[i-1] {
				cycles := a.clock.comb.Cycles((g.t[i-1] + g.t[i]) / 2)
				off = append(off, math.Abs(cycles-math.Round(cycles)))
			}
		}
		if m, _ := stats.MeanSD(off); m > 0.09 {
			t.Errorf("at %.0f s changes are %.3f periods off the moments of reports", g.t[0], m)
		}
	}
	if late == 0 {
		t.Error("no rest was found at the end")
	}
}
