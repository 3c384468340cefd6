package guide

import (
	"slices"

	"halfstick/input"
)

const (
	tileUS  = 50_000 // microseconds: longer than a spike, shorter than a movement
	tile    = 0.05   // the same in seconds
	tileMax = 64     // samples of an axis that are kept in a tile
	// standstillUS without a row is longer than what can be filled in: a hand
	// may have done anything meanwhile.
	standstillUS = 2_000_000
)

// tiler gathers rows into tiles, which follow the clock: where no row came for
// longer than a tile, the tiles that lack one are counted.
type tiler struct {
	begun    bool
	startUS  int64
	newestUS int64 // of its rows
	missed   int   // tiles without a row before this one
	broken   bool  // and so many that nobody knows what was done meanwhile
	rows     int
	stride   int
	samples  [][]int16
	presence []bool // in the newest row
}

func newTiler(columns int) tiler {
	return tiler{samples: make([][]int16, columns), presence: make([]bool, columns), stride: 1}
}

// full tells whether a row belongs to a later tile.
func (t *tiler) full(atUS int64) bool { return t.begun && atUS-t.startUS >= tileUS }

// standstill is how long no row came before this one, in microseconds, where
// that is too long to be filled in; otherwise 0.
func (t *tiler) standstill(atUS int64) int64 {
	if gap := atUS - t.newestUS; t.begun && gap > standstillUS {
		return gap
	}
	return 0
}

// add takes a row into the tile. Of many rows, evenly spread ones are kept.
func (t *tiler) add(row input.Row) {
	if !t.begun {
		t.begun, t.startUS = true, row.AtUS
	}
	t.newestUS = row.AtUS
	t.rows++
	for c := range t.samples {
		present := row.Present == nil || row.Present[c]
		t.presence[c] = present
		if !present {
			t.samples[c] = t.samples[c][:0]
			continue
		}
		if t.rows%t.stride == 0 {
			t.samples[c] = append(t.samples[c], row.Counts[c])
		}
	}
	if t.rows == t.stride*tileMax {
		t.thin()
	}
}

func (t *tiler) thin() {
	t.stride *= 2
	for c, s := range t.samples {
		n := 0
		for i := 0; i < len(s); i += 2 {
			s[n] = s[i]
			n++
		}
		t.samples[c] = s[:n]
	}
}

// take hands the tile over to the columns, and begins the one of a row at an
// instant. It returns how many tiles before the one that it took had no row, and
// whether the pause that they were in breaks a movement.
func (t *tiler) take(columns []column, atUS int64) (missed int, broken bool) {
	for c := range columns {
		s := t.samples[c]
		here := t.presence[c] && len(s) > 0
		x := 0.0
		if here {
			slices.Sort(s)
			x = (float64(s[(len(s)-1)/2]) + float64(s[len(s)/2])) / 2
		}
		columns[c].take(x, here)
		t.samples[c] = s[:0]
	}
	missed, broken = t.missed, t.broken
	passed := (atUS - t.startUS) / tileUS
	t.startUS += passed * tileUS
	t.missed = int(min(passed-1, standstillUS/tileUS))
	t.broken = atUS-t.newestUS > input.PauseUS
	t.rows, t.stride = 0, 1
	return missed, broken
}

// drop forgets the tile.
func (t *tiler) drop() {
	for c := range t.samples {
		t.samples[c] = t.samples[c][:0]
	}
	t.begun, t.missed, t.broken, t.rows, t.stride = false, 0, false, 0, 1
}
