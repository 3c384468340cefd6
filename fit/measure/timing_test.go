package measure

import (
	"reflect"
	"testing"

	"pgregory.net/rapid"

	"halfstick/input"
)

// The longest wait and the number of changes are those that looking at every change
// finds, where rows come evenly and where some come late, with pauses and absences.
func TestLongestStallIsThatOfEveryChange(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rec := stalling(t)
		a := &analysis{step: 3, series: newSeries(newTrack(rec), 0)}
		a.clock.period = 0.008
		longest, n := everyWait(rec, a.clock.period, a.step)
		switch q := a.longestStall(); {
		case q == nil && n > 0 || q != nil && (q.N != n || q.Value != float64(longest)/1000):
			t.Fatalf("%+v, want %d µs of %d changes", q, longest, n)
		}
	})
}

// stalling is a recording of some thousand rows of an axis that moves to and fro,
// reports every few rows and now and then none for a while.
func stalling(t *rapid.T) *input.Recording {
	n := rapid.IntRange(2, 3*pieceRows).Draw(t, "rows")
	seed := rapid.Uint64Range(1, 1<<32).Draw(t, "seed")
	late := rapid.SampledFrom([]uint64{0, 1000, 20_000}).Draw(t, "late row, microseconds")
	stall := rapid.SampledFrom([]int{0, 20, 400, pieceRows + 300}).Draw(t, "longest stall, rows")
	draw := func(below uint64) uint64 { // a plain generator: a draw for every row is more than rapid is for
		seed = seed*6364136223846793005 + 1442695040888963407
		return (seed >> 33) % below
	}
	rec := rows(0, 1000,
		input.Stretch{Phase: input.Phase{Kind: input.Sweep}, To: n / 2},
		input.Stretch{Phase: input.Phase{Kind: input.Rest}, From: n / 2, To: n/2 + n/8},
		input.Stretch{From: n/2 + n/8, To: n})
	at, x, speed, next := int64(0), 0, 1, 0
	for i := range n {
		at += 900 + int64(draw(200))
		if late > 0 && draw(300) == 0 {
			at += int64(draw(late))
		}
		if draw(4000) == 0 {
			at += input.PauseUS
		}
		if i%700 == 699 {
			speed = -speed
		}
		if i >= next {
			x = speed*(i%700)*40 + int(draw(8))
			if next = i + 2 + int(draw(7)); stall > 0 && draw(200) == 0 {
				next = i + int(draw(uint64(stall)))
			}
		}
		rec.Times.Append(at)
		rec.Columns[0].Append(int16(x%30_000), draw(3000) > 0)
	}
	return rec
}

// everyWait looks at every change of a recording's only axis.
func everyWait(rec *input.Recording, period, step float64) (longest int64, n int) {
	k, c := newTrack(rec), &rec.Columns[0]
	w := waits{track: k, column: c, period: period, step: step}
	for _, s := range rec.Stretches {
		if s.Phase.Kind == input.Rest {
			continue
		}
		for from, to := range k.runs(c, s.From, s.To) {
			side := stallRows(k, from, to)
			last := -1
			for i := from + 1; i < to; i++ {
				if c.At(i) == c.At(i-1) {
					continue
				}
				if last >= from+side && i+side < to {
					n++
					if wait := rec.Times.At(i) - rec.Times.At(last); wait > longest && w.movedOn(last, i, side) {
						longest = wait
					}
				}
				last = i
			}
		}
	}
	return longest, n
}

// A jump ends a wait that counts if it goes on as the motion before it or after it
// did, by more than four steps.
func TestWaitIsMadeUpForByAJump(t *testing.T) {
	for _, c := range []struct {
		name          string
		before, after int // counts a row
		gap, jump     int // rows, counts
		want          bool
	}{
		{"a report interval", 0, 0, 11, 0, true},
		{"goes on where it would have been", 10, 10, 40, 400, true},
		{"goes on at half of it", 10, 10, 40, 200, true},
		{"goes on at a third of it", 10, 10, 40, 130, false},
		{"has gone back", 10, 10, 40, -400, false},
		{"turns", 10, -10, 40, 400, false},
		{"noise", 1, 1, 14, 12, false},
		{"just more than noise", 1, 1, 14, 13, true},
	} {
		rec := rows(0, 1000)
		x := 0
		for i := range 200 {
			switch {
			case i < 100:
				x += c.before
			case i > 100+c.gap:
				x += c.after
			case i == 100+c.gap:
				x += c.jump
			}
			rec.Times.Append(int64(i) * 1000)
			rec.Columns[0].Append(int16(x), true)
		}
		w := waits{track: newTrack(rec), column: &rec.Columns[0], period: 0.008, step: 3}
		if got := w.movedOn(100, 100+c.gap, 50); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

func TestRowsThatALongerWaitTakes(t *testing.T) {
	k := &track{widest: []int64{5000, 1000, 1000, 0}}
	for _, c := range []struct {
		us   int64
		row  int
		want int
	}{
		{10_000, 0, 3},
		{9999, pieceRows - 1, 2},
		{10_000, pieceRows, 3}, // it may have begun in the piece before
		{10_000, 2 * pieceRows, 11},
		{10_999, 3*pieceRows - 1, 11},
		{0, 2 * pieceRows, 1},
		{1e9, 2 * pieceRows, pieceRows}, // or farther before
	} {
		if got := k.rowsOf(c.us, c.row); got != c.want {
			t.Errorf("longer than %d µs, up to row %d: %d rows, want %d", c.us, c.row, got, c.want)
		}
	}
}

func TestPiecesEndWithTheRecordings(t *testing.T) {
	var got [][2]int
	for from, to := range pieces(10, 2*pieceRows+1) {
		got = append(got, [2]int{from, to})
	}
	if want := [][2]int{{10, pieceRows}, {pieceRows, 2 * pieceRows}, {2 * pieceRows, 2*pieceRows + 1}}; !reflect.DeepEqual(got, want) {
		t.Errorf("%v, want %v", got, want)
	}
}

// Rows behind each of the pieces' ends, and pauses in any of them, are found.
func TestPausesInEveryPiece(t *testing.T) {
	rec := rows(3*pieceRows, 1000, input.Stretch{To: 3 * pieceRows})
	want := []int{1, pieceRows - 1, pieceRows, 2*pieceRows + 5, 3*pieceRows - 1}
	paused := 0
	edit(rec, func(i int, row *input.Row) bool {
		if paused < len(want) && i == want[paused] {
			paused++
		}
		row.AtUS += int64(paused) * input.PauseUS
		return true
	})
	k := newTrack(rec)
	if len(k.pauses) != len(want) {
		t.Fatalf("pauses before rows %v, want %v", k.pauses, want)
	}
	for i, row := range want {
		if k.pauses[i] != row {
			t.Errorf("pauses before rows %v, want %v", k.pauses, want)
		}
	}
	for i, us := range k.widest {
		if us != input.PauseUS+1000 {
			t.Errorf("piece %d: rows at most %d µs apart", i, us)
		}
	}
}
