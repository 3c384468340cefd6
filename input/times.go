package input

import (
	"iter"
	"math"
	"slices"
)

// Times are the moments of the rows of a recording, in microseconds. They take
// a byte and a half a row: every 64 rows are kept as a straight line and how far
// each row is off it, in one byte where all are near, in two where not, and in
// whole where no line comes near enough. The zero value is empty.
type Times struct {
	lines chunks[timeLine]
	near  chunks[[wordRows]int8]
	far   chunks[[wordRows]int16]
	whole chunks[[wordRows]int64]
	last  []int64 // the rows behind the lines
}

// timeLine is the line of wordRows rows.
type timeLine struct {
	start int64
	step  int32
	place int32 // in the list of its fit
	fit   timeFit
}

// timeFit says how near a line comes to its rows, and so in which list they are.
type timeFit uint8

const (
	fitsNear timeFit = iota
	fitsFar
	fitsNone
)

// packed is the number of rows that are on lines.
func (t *Times) packed() int { return t.lines.len() * wordRows }

// Len is the number of rows.
func (t *Times) Len() int { return t.packed() + len(t.last) }

// At is the moment of row i.
func (t *Times) At(i int) int64 {
	n, k := i/wordRows, i%wordRows
	if n >= t.lines.len() {
		return t.last[k]
	}
	line := t.lines.at(n)
	at := line.start + int64(k)*int64(line.step)
	switch line.fit {
	case fitsNear:
		return at + int64(t.near.at(int(line.place))[k])
	case fitsFar:
		return at + int64(t.far.at(int(line.place))[k])
	}
	return t.whole.at(int(line.place))[k]
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
	step := math.Round(float64(t.last[wordRows-1]-t.last[0]) / (wordRows - 1))
	var off [wordRows]int64
	if math.Abs(step) <= math.MaxInt32 {
		line.step = int32(step)
	}
	for k, us := range t.last {
		off[k] = us - line.start - int64(k)*int64(line.step)
	}
	switch least, most := slices.Min(off[:]), slices.Max(off[:]); {
	case least >= math.MinInt8 && most <= math.MaxInt8:
		line.fit, line.place = fitsNear, addOffsets(&t.near, &off)
	case least >= math.MinInt16 && most <= math.MaxInt16:
		line.fit, line.place = fitsFar, addOffsets(&t.far, &off)
	default:
		line.fit, line.place = fitsNone, int32(t.whole.len())
		t.whole.append([wordRows]int64(t.last))
	}
	t.lines.append(line)
	t.last = t.last[:0]
}

// addOffsets keeps how far rows are off their line, and says in which place.
func addOffsets[T int8 | int16](list *chunks[[wordRows]T], off *[wordRows]int64) int32 {
	var kept [wordRows]T
	for k, v := range off {
		kept[k] = T(v)
	}
	place := list.len()
	list.append(kept)
	return int32(place)
}
