package input

import (
	"iter"
	"math/bits"
)

// held is a value a row that mostly stays as it was: a device that reports at
// 125 Hz changes in one of eight rows that are sampled at 1000 Hz. It keeps one
// bit a row, set where a new value begins, and the new values; the number of
// changes before every 64 rows finds any row's value at once. Its zero value is
// empty.
type held struct {
	rows    int
	changed []uint64
	before  []uint32 // changes before each word of changed
	values  []int16
}

const wordRows = 64

// append adds a row.
func (h *held) append(v int16) {
	i := h.rows
	h.extend(i + 1)
	if n := len(h.values); n == 0 || h.values[n-1] != v {
		h.changed[i/wordRows] |= 1 << (i % wordRows)
		h.values = append(h.values, v)
	}
}

// extend adds rows that stay as the last one, until there are so many.
func (h *held) extend(rows int) {
	for len(h.changed)*wordRows < rows {
		h.changed = append(h.changed, 0)
		h.before = append(h.before, uint32(len(h.values)))
	}
	h.rows = rows
}

// at is the value of row i.
func (h *held) at(i int) int16 {
	word := i / wordRows
	until := h.changed[word] << (wordRows - 1 - i%wordRows) // the changes up to i
	return h.values[int(h.before[word])+bits.OnesCount64(until)-1]
}

// changes gives row from, and each row after it before to in which a new value
// begins, with its value.
func (h *held) changes(from, to int) iter.Seq2[int, int16] {
	return func(yield func(int, int16) bool) {
		if from >= to || !yield(from, h.at(from)) {
			return
		}
		at := from + 1
		for word := at / wordRows; word*wordRows < to; word++ {
			set := h.changed[word]
			next := int(h.before[word])
			if first := word * wordRows; first < at {
				skipped := set & (1<<(at-first) - 1)
				next += bits.OnesCount64(skipped)
				set &^= skipped
			}
			for ; set != 0; set &= set - 1 {
				i := word*wordRows + bits.TrailingZeros64(set)
				if i >= to || !yield(i, h.values[next]) {
					return
				}
				next++
			}
		}
	}
}

// join adds the rows of another.
func (h *held) join(other *held) {
	start := h.rows
	for i, v := range other.changes(0, other.rows) {
		h.extend(start + i)
		h.append(v)
	}
	h.extend(start + other.rows)
}
