package propose

import (
	"math"
	"slices"
)

const halfWeightMinutes = 10.0 // of flight that weigh as much as the default

// side is which commands of an axis are meant.
type side int

const (
	bothTogether side = iota
	lowSide
	highSide
)

// tally is the flight of a side summed up, as far as it counts.
type tally struct {
	of     side
	total  float64        // seconds
	weight [cells]float64 // seconds in each cell of |y|
	// seconds are those of the flight, in its order; what is left at the end is
	// dropped.
	seconds []flownSecond
	now     flownSecond // the one that is not over yet
	filled  float64     // of it
}

// flownSecond is a second of flight, by cells of |y|, finePerCell of the grid's
// each.
type flownSecond []cellShare

type cellShare struct {
	cell  int
	share float64 // of the second
}

// tally sums up what was flown of a side.
func (f flownAxis) tally(of side) *tally {
	t := &tally{of: of}
	for i := range f.parts {
		p := &f.parts[i]
		next := 0
		for _, left := range p.left {
			t.addRows(p, next, left.from)
			next = max(next, left.to)
		}
		t.addRows(p, next, len(p.rows))
	}
	return t
}

func (t *tally) addRows(p *flownPart, from, to int) {
	for i := from; i < to; i++ {
		t.add(p.command(i), float64(p.rows[i].lastsUS)/1e6)
	}
}

// add adds a command that stood for so many seconds. One of exactly 0 belongs half
// to each side.
func (t *tally) add(y, lasts float64) {
	switch {
	case t.of == lowSide && y > 0, t.of == highSide && y < 0:
		return
	case t.of != bothTogether && y == 0:
		lasts /= 2
	}
	cell := cellOf(y)
	t.weight[cell] += lasts
	t.total += lasts
	cell /= finePerCell
	for lasts > 0 {
		part := min(lasts, 1-t.filled)
		if n := len(t.now); n > 0 && t.now[n-1].cell == cell {
			t.now[n-1].share += part
		} else {
			t.now = append(t.now, cellShare{cell, part})
		}
		t.filled += part
		lasts -= part
		if t.filled >= 1-1e-9 {
			t.seconds = append(t.seconds, slices.Clone(t.now))
			t.now, t.filled = t.now[:0], 0
		}
	}
}

// cellOf returns the cell of the demand's grid that the command y lies in.
func cellOf(y float64) int { return min(int(math.Abs(y)*cells), cells-1) }

// demand estimates the density of |y| and shrinks it to the default: m minutes of
// flight weigh m/(m + 10) (the 10 is a choice; no source).
func (t *tally) demand(fallback Demand) Demand {
	if t.total == 0 {
		return fallback
	}
	minutes := t.total / 60
	d := fallback.mix(smoothDensity(t.weight[:], t.total), minutes/(minutes+halfWeightMinutes))
	d.Minutes = minutes
	return d
}
