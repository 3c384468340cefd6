package measure

import (
	"cmp"
	"iter"
	"math"
	"slices"
)

// tile sums up a short stretch: its start, its median and the deviation of a
// Gaussian that would spread its middle 80 % as wide.
type tile struct {
	t, mid, spread float64
}

// stood is a reading and in how many rows running it stands.
type stood struct {
	x    float64
	rows int
}

// tileOf sums up the rows of a tile, of which there is one at least; it sorts them.
func tileOf(t float64, held []stood) tile {
	slices.SortFunc(held, func(a, b stood) int { return cmp.Compare(a.x, b.x) })
	rows := 0
	for _, s := range held {
		rows += s.rows
	}
	at := func(rank int) float64 { // of the rows in order of their readings
		i := 0
		for rank -= held[0].rows; rank >= 0; rank -= held[i].rows {
			i++
		}
		return held[i].x
	}
	n := float64(rows - 1)
	return tile{t: t, mid: (at((rows-1)/2) + at(rows/2)) / 2, spread: (at(int(0.9*n+0.5)) - at(int(0.1*n+0.5))) / 2.563}
}

// tiles cuts a segment at whole multiples of a length, so that the tiles of
// all axes fall together.
func tiles(g segment, length float64) []tile {
	var out []tile
	var held []stood // of one tile
	number := math.Inf(-1)
	for i, x := range g.x {
		if k := math.Floor(g.t[i] / length); k != number {
			if i > 0 {
				out = append(out, tileOf(number*length, held))
			}
			number, held = k, held[:0]
		}
		if last := len(held) - 1; last >= 0 && held[last].x == x {
			held[last].rows++
		} else {
			held = append(held, stood{x, 1})
		}
	}
	if len(held) > 0 {
		out = append(out, tileOf(number*length, held))
	}
	return out
}

// tiles cuts a run as a segment is cut.
func (r run) tiles(length float64) iter.Seq[tile] {
	return func(yield func(tile) bool) {
		k, c := r.series.track, r.series.column
		var held []stood
		for from := r.from; from < r.to; {
			number := math.Floor(k.seconds(from) / length)
			to := k.tileEnd(from, r.to, length)
			held = held[:0]
			since := from
			for i, x := range c.Changes(from, to) {
				if i > from {
					held[len(held)-1].rows = i - since
				}
				held, since = append(held, stood{x: float64(x)}), i
			}
			held[len(held)-1].rows = to - since
			if !yield(tileOf(number*length, held)) {
				return
			}
			from = to
		}
	}
}

// tileEnd is the first row behind row from, up to another, that is not in its tile.
func (k *track) tileEnd(from, to int, length float64) int {
	number := math.Floor(k.seconds(from) / length)
	behind := func(i int) bool { return math.Floor(k.seconds(i)/length) > number }
	// Rows are about even: the end is close to where that leads.
	rows := ((number+1)*length - k.seconds(from)) / k.rowTime
	end := min(to, from+1+int(math.Min(rows, float64(to-from))))
	for end < to && !behind(end) {
		end++
	}
	for end > from+1 && behind(end-1) {
		end--
	}
	return end
}

// tilesOf are the tiles of some runs, all of them and run by run.
func tilesOf(runs []run, length float64) (all []tile, cut [][]tile) {
	n := 0
	for _, r := range runs {
		rows := float64(r.to - r.from)
		n += int(math.Min(rows, rows*r.series.rowTime/length+2)) // rows may be years apart
	}
	all = make([]tile, 0, n) // of hours, growing would take as much again
	ends := make([]int, len(runs))
	for i, r := range runs {
		all = slices.AppendSeq(all, r.tiles(length))
		ends[i] = len(all)
	}
	from := 0
	for _, end := range ends {
		cut = append(cut, all[from:end])
		from = end
	}
	return all, cut
}
