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
	rows   int
	words  chunks[word]
	values chunks[int16]
}

// word is what is kept of wordRows rows.
type word struct {
	changed uint64 // a bit for each, set where a new value begins
	before  uint32 // changes in the rows before these
}

const wordRows = 64

// append adds a row.
func (h *held) append(v int16) {
	i := h.rows
	h.extend(i + 1)
	if n := h.values.len(); n == 0 || *h.values.at(n - 1) != v {
		h.words.at(i / wordRows).changed |= 1 << (i % wordRows)
		h.values.append(v)
	}
}

// extend adds rows that stay as the last one, until there are so many.
func (h *held) extend(rows int) {
	for h.words.len()*wordRows < rows {
		h.addWord(0)
	}
	h.rows = rows
}

// addWord begins a word.
func (h *held) addWord(changed uint64) {
	w := word{changed: changed}
	if n := h.words.len(); n > 0 {
		before := h.words.at(n - 1)
		w.before = before.before + uint32(bits.OnesCount64(before.changed))
	}
	h.words.append(w)
}

// at is the value of row i.
func (h *held) at(i int) int16 {
	w := h.words.at(i / wordRows)
	until := w.changed << (wordRows - 1 - uint(i)%wordRows) // the changes up to i
	return *h.values.at(int(w.before) + bits.OnesCount64(until) - 1)
}

// changes gives row from, and each row after it before to in which a new value
// begins, with its value.
func (h *held) changes(from, to int) iter.Seq2[int, int16] {
	return func(yield func(int, int16) bool) {
		if from >= to || !yield(from, h.at(from)) {
			return
		}
		at := from + 1
		for n := at / wordRows; n*wordRows < to; n++ {
			w := h.words.at(n)
			set, next := w.changed, int(w.before)
			if first := n * wordRows; first < at {
				skipped := set & (1<<(at-first) - 1)
				next += bits.OnesCount64(skipped)
				set &^= skipped
			}
			for ; set != 0; set &= set - 1 {
				i := n*wordRows + bits.TrailingZeros64(set)
				if i >= to || !yield(i, *h.values.at(next)) {
					return
				}
				next++
			}
		}
	}
}

// lists are the words and values of rows, each in one list or several. Rows behind
// the words stay as the last one.
type lists struct {
	words  [][]word
	values [][]int16
}

func (h *held) lists() lists { return lists{h.words.list, h.values.list} }

// join adds rows.
func (h *held) join(rows int, other lists) {
	if rows == 0 {
		return
	}
	end := h.rows + rows
	n := h.values.len()
	goesOn := n > 0 && *h.values.at(n - 1) == other.values[0][0] // the first value is no new one here
	for i, list := range other.words {
		for k, w := range list {
			if goesOn && i == 0 && k == 0 {
				w.changed &^= 1
			}
			h.addRows(w.changed, min(wordRows, end-h.rows))
		}
	}
	h.extend(end)
	for i, list := range other.values {
		if goesOn && i == 0 {
			list = list[1:]
		}
		h.values.join(list)
	}
}

// addRows adds rows, at most those of a word, whose values are still to come.
func (h *held) addRows(changed uint64, rows int) {
	at := h.rows % wordRows
	if at > 0 {
		h.words.at(h.rows / wordRows).changed |= changed << at
	}
	if at == 0 || at+rows > wordRows {
		h.addWord(changed >> ((wordRows - at) % wordRows))
	}
	h.rows += rows
}
