package input

// block is some whole lines of a file, each a row or a comment, and what they
// say. Rows and lines count from the block's first.
type block struct {
	text []byte
	done chan struct{} // receives when the lines have been parsed

	lines     int
	times     []int64
	stretches []Stretch
	columns   []blockColumn
	comments  []Comment
	firstRow  int // line of the first row

	bad     *problem // what breaks the format in the last line that was parsed
	dropped int      // bytes behind the lines, where the file ends
	over    bool     // behind the lines there is one that is too long
	err     error    // of the file, behind the lines
}

// blockColumn is an axis's rows in a block, kept as a Column keeps them.
type blockColumn struct {
	counts, there blockHeld
}

// blockHeld is a held whose words and values are used again for the next block.
// Words behind the last change are left out.
type blockHeld struct {
	words  []word
	values []int16
}

// add keeps the value of a row behind those so far that is not as the last one.
func (h *blockHeld) add(row int, v int16) {
	for len(h.words) <= row/wordRows {
		h.words = append(h.words, word{})
	}
	h.words[row/wordRows].changed |= 1 << (row % wordRows)
	h.values = append(h.values, v)
}

func (h *blockHeld) reset() { h.words, h.values = h.words[:0], h.values[:0] }

func (h *blockHeld) lists() lists {
	if len(h.values) == 0 {
		return lists{}
	}
	return lists{[][]word{h.words}, [][]int16{h.values}}
}

func (b *block) reset() {
	b.lines, b.firstRow, b.dropped, b.over, b.bad, b.err = 0, 0, 0, false, nil, nil
	b.times, b.stretches, b.comments = b.times[:0], b.stretches[:0], b.comments[:0]
	for c := range b.columns {
		b.columns[c].counts.reset()
		b.columns[c].there.reset()
	}
}

func (b *block) comment(text string) *problem {
	b.comments = append(b.comments, Comment{Row: len(b.times), Text: text})
	return badComment(text)
}

// addTime ends a row whose counts and phase are kept.
func (b *block) addTime(us int64) {
	if len(b.times) == 0 {
		b.firstRow = b.lines
	}
	b.times = append(b.times, us)
}
