package input

import (
	"iter"
	"math"
	"math/bits"
)

// How a recording is searched for long waits without looking at every row.

// Widest is the longest time, in microseconds, from one row to the next between
// row from and row to−1; 0 where there are no two.
func (t *Times) Widest(from, to int) int64 {
	widest := int64(0)
	for i := from + 1; i < to; {
		k := i % wordRows
		if k == 0 || i >= t.packed() {
			widest = max(widest, t.At(i)-t.At(i-1))
			i++
			continue
		}
		line := t.lines.at(i / wordRows)
		end := min(wordRows, k+to-i)
		switch place := int(line.place); line.fit {
		case fitsNear:
			widest = max(widest, int64(line.step)+widestRise(t.near.at(place)[k-1:end]))
		case fitsFar:
			widest = max(widest, int64(line.step)+widestRise(t.far.at(place)[k-1:end]))
		default:
			widest = max(widest, widestRise(t.whole.at(place)[k-1:end]))
		}
		i += end - k
	}
	return widest
}

// widestRise is the most that a value of two or more is above the one before it.
func widestRise[T int8 | int16 | int64](values []T) int64 {
	widest := int64(math.MinInt64)
	for n := 1; n < len(values); n++ {
		widest = max(widest, int64(values[n])-int64(values[n-1]))
	}
	return widest
}

// Changed is how many of the rows from one to before another have counts that
// differ from those of the row before; the first row of all counts as one.
func (c *Column) Changed(from, to int) int {
	if from >= to {
		return 0
	}
	return c.counts.changesBefore(to) - c.counts.changesBefore(from)
}

// Waits gives each row from one to before another whose counts differ from those
// of the row before it, for the first time in so many rows or more, with the row
// in which the counts before began. An absence counts as counts of 0.
func (c *Column) Waits(from, to, rows int) iter.Seq2[int, int] { return c.counts.waits(from, to, rows) }

// changesBefore is in how many of the rows before row i a new value begins.
func (h *held) changesBefore(i int) int {
	if i >= h.rows {
		return h.values.len()
	}
	w := h.words.at(i / wordRows)
	return int(w.before) + bits.OnesCount64(w.changed&(1<<(i%wordRows)-1))
}

// began is the row in which the value of row i began.
func (h *held) began(i int) int {
	n := i / wordRows
	set := h.words.at(n).changed << (wordRows - 1 - i%wordRows) >> (wordRows - 1 - i%wordRows)
	for ; set == 0; set = h.words.at(n).changed {
		n--
	}
	return n*wordRows + bits.Len64(set) - 1
}

func (h *held) waits(from, to, rows int) iter.Seq2[int, int] {
	return func(yield func(int, int) bool) {
		from := max(from, 1) // nothing came before the first row
		for n := from / wordRows; n*wordRows < to; n++ {
			begin := n * wordRows
			set := h.words.at(n).changed
			late := set &^ follow(set, rows-1)
			if begin < from {
				late = late >> (from - begin) << (from - begin)
			}
			for ; late != 0; late &= late - 1 {
				i := begin + bits.TrailingZeros64(late)
				if i >= to {
					return
				}
				if last := h.began(i - 1); i-last >= rows && !yield(i, last) {
					return
				}
			}
		}
	}
}

// follow sets the bits that come behind a set one by so many places or less.
func follow(set uint64, places int) uint64 {
	behind := uint64(0)
	if places > 0 {
		behind = set << 1
	}
	for done := 1; done < min(places, wordRows); {
		more := min(done, places-done)
		behind |= behind << more
		done += more
	}
	return behind
}
