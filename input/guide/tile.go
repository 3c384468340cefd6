package guide

import (
	"slices"

	"halfstick/input"
)

const (
	tileUS  = 50_000 // microseconds: longer than a spike, shorter than a movement
	tile    = 0.05   // the same in seconds
	tileMax = 64     // samples of an axis that are kept in a tile
)

// tiler gathers rows into tiles.
type tiler struct {
	begun    bool
	startUS  int64
	rows     int
	stride   int
	samples  [][]int16
	presence []bool // in the newest row
}

func newTiler(columns int) tiler {
	return tiler{samples: make([][]int16, columns), presence: make([]bool, columns), stride: 1}
}

// full tells whether a row belongs to a new tile.
func (t *tiler) full(atUS int64) bool { return t.begun && atUS-t.startUS >= tileUS }

// add takes a row into the tile. Of many rows, evenly spread ones are kept.
func (t *tiler) add(row input.Row) {
	if !t.begun {
		t.begun, t.startUS = true, row.AtUS
	}
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

// take hands the tile over to the columns, and begins the next one.
func (t *tiler) take(columns []column) {
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
	t.begun, t.rows, t.stride = false, 0, 1
}
