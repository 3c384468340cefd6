package input

import "iter"

// Column holds one axis's counts, one a row. Its zero value is an empty column
// of the first axis of the first device.
type Column struct {
	Device int // index into Header.Devices
	Axis   int // index into Devices[Device].Axes

	counts held
	there  held // 1 where the axis was there, else 0; empty where it always was
}

// Len is the number of rows.
func (c *Column) Len() int { return c.counts.rows }

// Append adds a row; the counts of an axis that is not present are kept as 0.
func (c *Column) Append(counts int16, present bool) {
	rows := c.Len()
	if !present {
		counts = 0
		c.spellOut()
	}
	c.counts.append(counts)
	if c.there.rows == rows && (rows > 0 || !present) {
		c.there.append(thereAs(present))
	}
}

func thereAs(present bool) int16 {
	if present {
		return 1
	}
	return 0
}

// spellOut writes down that the axis was there so far.
func (c *Column) spellOut() {
	if c.there.rows < c.Len() {
		c.there.append(1)
		c.there.extend(c.Len())
	}
}

// At is the counts in row i, 0 where the axis was not there.
func (c *Column) At(i int) int16 { return c.counts.at(i) }

// Always reports whether the axis was there in every row.
func (c *Column) Always() bool { return c.there.rows == 0 }

// PresentAt reports whether the axis was there in row i.
func (c *Column) PresentAt(i int) bool { return c.Always() || c.there.at(i) == 1 }

// Changes gives row from, and each row after it before to whose counts differ
// from those of the row before it, with its counts.
func (c *Column) Changes(from, to int) iter.Seq2[int, int16] { return c.counts.changes(from, to) }

// Present gives the runs of rows between from and to in which the axis was
// there, each with its end.
func (c *Column) Present(from, to int) iter.Seq2[int, int] {
	return func(yield func(int, int) bool) {
		if from >= to {
			return
		}
		if c.Always() {
			yield(from, to)
			return
		}
		start := -1
		for i, there := range c.there.changes(from, to) {
			switch {
			case there == 1:
				start = i
			case start >= 0:
				if !yield(start, i) {
					return
				}
				start = -1
			}
		}
		if start >= 0 {
			yield(start, to)
		}
	}
}

// join adds rows; there is empty if the axis was there in all of them.
func (c *Column) join(rows int, counts, there lists) {
	if rows == 0 {
		return
	}
	if !c.Always() || len(there.values) > 0 {
		c.spellOut()
		if len(there.values) == 0 {
			there = lists{[][]word{{{changed: 1}}}, [][]int16{{1}}}
		}
		c.there.join(rows, there)
	}
	c.counts.join(rows, counts)
}
