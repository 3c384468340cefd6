package measure

import (
	"math"
	"reflect"
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

// A run that is looked at in pieces is the run in one: every row once, and tiles
// are not cut by the pieces' ends.
func TestPiecesAreTheRun(t *testing.T) {
	rec := rows(13_000, 80)
	k := newTrack(rec)
	s := newSeries(k, 0)
	r := run{s, 5, 12_990}
	var at, x []float64
	n := 0
	r.pieces(func(g segment) {
		if _, part := math.Modf(g.t[0]); n > 0 && part > 1/80.0 {
			t.Errorf("piece %d begins at %v s", n, g.t[0])
		}
		if g.seconds() > 60 {
			t.Errorf("piece %d is %v s long", n, g.seconds())
		}
		at, x = append(at, g.t...), append(x, g.x...)
		n++
	})
	wholeT, wholeX := k.times(r.from, r.to), counts(s.column, r.from, r.to)
	if n < 3 || !reflect.DeepEqual(at, wholeT) || !reflect.DeepEqual(x, wholeX) {
		t.Errorf("%d pieces with %d of %d rows", n, len(at), len(wholeT))
	}
	for _, length := range []float64{restTile, moveTile} {
		if got, want := r.tiles(length), tiles(segment{t: wholeT, x: wholeX}, length); !reflect.DeepEqual(got, want) {
			t.Errorf("%v s: %d tiles, in one piece %d", length, len(got), len(want))
		}
	}
	p := period{at[700], at[740]}
	if got, want := r.cut(p), (segment{t: wholeT, x: wholeX}).cut(p.from, p.to); !reflect.DeepEqual(got, want) || len(got.t) != 40 {
		t.Errorf("cut to %d rows from %v s, want %d", len(got.t), got.t[0], len(want.t))
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
