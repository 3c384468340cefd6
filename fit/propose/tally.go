package propose

import "math"

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
	// Of the one that is not over yet: how much of it is flown, how much in each
	// cell, and between which cells.
	filled   float64
	now      [cells / finePerCell]float64
	from, to int
}

// flownSecond is a second of flight, by cells of |y|, finePerCell of the grid's
// each, each but once and rising.
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
		if t.filled == 0 {
			t.from, t.to = cell, cell
		}
		t.from, t.to = min(t.from, cell), max(t.to, cell+1)
		part := min(lasts, 1-t.filled)
		t.now[cell] += part
		t.filled += part
		lasts -= part
		if t.filled >= 1-1e-9 {
			t.endSecond()
		}
	}
}

// endSecond adds the second that is over to the others.
func (t *tally) endSecond() {
	second := make(flownSecond, 0, t.to-t.from)
	for i, share := range t.now[t.from:t.to] {
		if share > 0 {
			second = append(second, cellShare{t.from + i, share})
		}
	}
	t.seconds = append(t.seconds, second)
	clear(t.now[t.from:t.to])
	t.filled = 0
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
