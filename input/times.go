package input

import (
	"iter"
	"math"
	"slices"
)

// Times are the moments of the rows of a recording, in microseconds. They take
// a little more than two bytes a row: every 64 rows are kept as a straight line
// and how far each row is off it, in whole where no line comes near enough. The
// zero value is empty.
type Times struct {
	lines  chunks[timeLine]
	packed int             // rows of the lines
	whole  map[int][]int64 // the rows of lines that come near to none, by line
	last   []int64         // the rows behind the lines
}

type timeLine struct {
	start int64
	step  int32
	whole bool
	off   [wordRows]int16
}

// Len is the number of rows.
func (t *Times) Len() int { return t.packed + len(t.last) }

// At is the moment of row i.
func (t *Times) At(i int) int64 {
	if i >= t.packed {
		return t.last[i-t.packed]
	}
	line, k := t.lines.at(i/wordRows), i%wordRows
	if line.whole {
		return t.whole[i/wordRows][k]
	}
	return line.start + int64(k)*int64(line.step) + int64(line.off[k])
}

// All gives every row and its moment.
func (t *Times) All() iter.Seq2[int, int64] {
	return func(yield func(int, int64) bool) {
		for i := range t.Len() {
			if !yield(i, t.At(i)) {
				return
			}
		}
	}
}

// Append adds a row.
func (t *Times) Append(us int64) {
	t.last = append(t.last, us)
	if len(t.last) == wordRows {
		t.pack()
	}
}

// join adds rows.
func (t *Times) join(us []int64) {
	for len(us) > 0 {
		n := min(len(us), wordRows-len(t.last))
		t.last = append(t.last, us[:n]...)
		us = us[n:]
		if len(t.last) == wordRows {
			t.pack()
		}
	}
}

// pack puts the last rows on a line.
func (t *Times) pack() {
	line := timeLine{start: t.last[0]}
	step := (t.last[wordRows-1] - t.last[0]) / (wordRows - 1)
	line.whole = step < 0 || step > math.MaxInt32
	if !line.whole {
		line.step = int32(step)
	}
	for k, us := range t.last {
		off := us - line.start - int64(k)*int64(line.step)
		line.whole = line.whole || off < math.MinInt16 || off > math.MaxInt16
		line.off[k] = int16(off)
	}
	if line.whole {
		if t.whole == nil {
			t.whole = map[int][]int64{}
		}
		t.whole[t.packed/wordRows] = slices.Clone(t.last)
	}
	t.lines.append(line)
	t.packed += wordRows
	t.last = t.last[:0]
}
