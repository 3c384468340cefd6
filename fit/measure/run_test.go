package measure

import (
	"math"
	"reflect"
	"slices"
	"testing"

	"halfstick/input"
)

// rows is a recording of one axis with a new count in every row, at so many rows a
// second, whose rows begin where no second does.
func rows(n int, rateHz float64, stretches ...input.Stretch) *input.Recording {
	rec := &input.Recording{
		Header:    input.Header{RateHz: rateHz, Devices: []input.Device{{ID: "dev", Axes: []input.Axis{{Label: "axis", Kind: input.TwoSided}}}}},
		Columns:   []input.Column{{}},
		Stretches: stretches,
	}
	for i := range n {
		rec.Times.Append(370_000 + int64(math.Round(float64(i)*1e6/rateHz)))
		rec.Columns[0].Append(int16(i%1000*37%1000), true)
	}
	return rec
}

// The tiles of a run, read where its rows lie, are those of its rows in memory, and
// a cut is one of these.
func TestTilesOfARun(t *testing.T) {
	rec := rows(13_000, 80, input.Stretch{To: 13_000})
	edit(rec, func(i int, row *input.Row) bool {
		row.AtUS += int64(i*7919%3000) - int64(max(0, min(i, 8000)-4000)*6250) // uneven, and for a while twice as many
		if i%500 > 250 {
			row.Counts[0] = int16(i / 7)
		}
		return true
	})
	k := newTrack(rec)
	s := newSeries(k, 0)
	r := run{s, 5, 12_990}
	g := segment{t: k.times(r.from, r.to), x: counts(s.column, r.from, r.to)}
	for _, length := range []float64{restTile, moveTile} {
		got, want := slices.Collect(r.tiles(length)), tiles(g, length)
		if !reflect.DeepEqual(got, want) {
			t.Errorf("%v s: %d tiles, of the rows in memory %d", length, len(got), len(want))
		}
		for i, one := range want[1 : len(want)-1] {
			x := slices.Sorted(slices.Values(g.cut(one.t, want[i+2].t).x))
			n := len(x)
			if mid := (x[(n-1)/2] + x[n/2]) / 2; one.mid != mid {
				t.Fatalf("tile at %v s: median %v, want %v", one.t, one.mid, mid)
			}
			if spread := (x[int(0.9*float64(n-1)+0.5)] - x[int(0.1*float64(n-1)+0.5)]) / 2.563; one.spread != spread {
				t.Fatalf("tile at %v s: spread %v, want %v", one.t, one.spread, spread)
			}
		}
	}
	p := period{g.t[700], g.t[740]}
	if got, want := r.cut(p), g.cut(p.from, p.to); !reflect.DeepEqual(got, want) || len(got.t) != 40 {
		t.Errorf("cut to %d rows from %v s, want %d", len(got.t), got.t[0], len(want.t))
	}
	all, cut := tilesOf([]run{{s, 5, 400}, {s, 400, 405}, {s, 500, 900}}, moveTile)
	if n := len(cut[0]) + len(cut[1]) + len(cut[2]); len(cut) != 3 || n != len(all) || cut[2][0] != all[len(all)-len(cut[2])] {
		t.Errorf("%d tiles of three runs, in all %d", n, len(all))
	}
}

// Pauses and absences end a run of rows.
func TestRunsEndAtPausesAndAbsences(t *testing.T) {
	rec := rows(1000, 100, input.Stretch{To: 1000})
	edit(rec, func(i int, row *input.Row) bool {
		if i >= 300 {
			row.AtUS += 400_000
		}
		row.Present[0] = i < 600 || i >= 620
		return true
	})
	k := newTrack(rec)
	var got [][2]int
	for from, to := range k.runs(&rec.Columns[0], 100, 900) {
		got = append(got, [2]int{from, to})
	}
	if want := [][2]int{{100, 300}, {300, 600}, {620, 900}}; !reflect.DeepEqual(got, want) {
		t.Errorf("runs %v, want %v", got, want)
	}
}

// Of flights, ten minutes in all are looked at for the clock; of other phases all.
func TestClockLooksAtTenMinutesOfFlight(t *testing.T) {
	flight, sweep := input.Phase{Kind: input.Flight}, input.Phase{Kind: input.Sweep}
	rec := rows(20_000, 10,
		input.Stretch{Phase: flight, To: 4000},
		input.Stretch{Phase: sweep, From: 4000, To: 11_000},
		input.Stretch{Phase: flight, From: 11_000, To: 17_000},
		input.Stretch{From: 17_000, To: 18_000},
		input.Stretch{Phase: flight, From: 18_000, To: 20_000})
	k := newTrack(rec)
	got := map[int]int{}
	for from, to := range k.clockRows() {
		got[from] = to - from
	}
	// The second flight goes on for 200.1 s, as the first ends with its last row's
	// time; what is left is less than a row.
	want := map[int]int{0: 4000, 4000: 7000, 11_000: 2001, 17_000: 1000, 18_000: 1}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("rows by where they begin %v, want %v", got, want)
	}
}

// An absence that lasts until the recorder stops counts up to there, also where the
// recording was gone on with; cells that are empty after that count for nothing.
func TestAbsenceAtTheEndOfAPart(t *testing.T) {
	rec := rows(1000, 100, input.Stretch{To: 1000})
	edit(rec, func(i int, row *input.Row) bool {
		if i >= 400 {
			row.AtUS += input.AppendGapUS - 10_000
		}
		row.Present[0] = i < 380 || i >= 450 && i < 990
		return true
	})
	s := newSeries(newTrack(rec), 0)
	if s.absent != 30 || math.Abs(s.longest-0.2) > 1e-9 || s.rows != 1000 {
		t.Errorf("%d of %d rows absent, at most %v s; want 30 of 1000 and 0.2 s", s.absent, s.rows, s.longest)
	}
}

// Rows a year apart have no more tiles than rows, and take no more memory than
// these; found by FuzzRecording.
func TestTilesOfRowsYearsApart(t *testing.T) {
	const year = 31_557_600_000_000 // microseconds
	rec := &input.Recording{
		Header:  input.Header{RateHz: 500, Devices: []input.Device{{ID: "dev", Axes: []input.Axis{{Label: "axis", Kind: input.TwoSided}}}}},
		Columns: []input.Column{{}},
	}
	for i := range 20 {
		rec.Times.Append(year * int64(i))
		rec.Columns[0].Append(int16(i), true)
	}
	rec.Stretches = []input.Stretch{{To: 20}}
	s := newSeries(newTrack(rec), 0)
	all, cut := tilesOf([]run{{s, 0, 10}, {s, 10, 20}}, moveTile)
	if len(all) != 20 || cap(all) > 20 || len(cut) != 2 {
		t.Errorf("%d tiles in %d cuts, with room for %d; want 20 in 2, with room for no more", len(all), len(cut), cap(all))
	}
}
