package input

import "bytes"

// blockParser parses blocks of a recording without extra columns, in which every
// line is a row or a comment. Devices report less often than they are sampled, and
// each in its own rows, so that most cells repeat the one above: a row is compared
// with the row before, and only what differs is read and kept.
type blockParser struct {
	rowParser
	phase []byte // the phase cell of the row before with the commas around it; empty where no row is to be compared with
	cells []cell // of the row before
}

// cell is what an axis has in the row before: its counts, 0 where it was not there,
// and the cell itself up to and with the comma or the line's end behind it, as
// bytesAt gives it. The bytes of one that is too long for that are met by no cell.
type cell struct {
	text, mask uint64
	size       int // bytes
	end        byte
	counts     int16
	present    bool
}

func newBlockParser(p rowParser) *blockParser {
	columns := len(p.row.Counts)
	p.split, p.phases = splitter{}, map[string]Phase{}
	p.row = newRow(columns, 0)
	return &blockParser{rowParser: p, cells: make([]cell, columns)}
}

// parse goes through the lines of a block, up to one that breaks the format.
func (p *blockParser) parse(b *block) {
	p.phase = nil
	p.check.rows = 0 // who joins the blocks looks at the time between them
	for text := b.text; len(text) > 0 && b.bad == nil; {
		b.lines++
		n := p.parseLike(b, text)
		if n == 0 {
			n = bytes.IndexByte(text, '\n') + 1
			b.bad = p.parseLine(b, text[:n])
		}
		text = text[n:]
	}
}

// parseLine parses any line, with its end.
func (p *blockParser) parseLine(b *block, line []byte) *problem {
	if len(line) > maxRow {
		return tooLong(maxRow)
	}
	text, _ := chomp(line)
	if comment, ok := bytes.CutPrefix(text, []byte("#")); ok {
		return b.comment(string(comment))
	}
	open, bad := p.split.split(text)
	if bad == nil && open != notOpen {
		bad = leftOpen(open)
	}
	if bad == nil {
		bad = p.parseRow()
	}
	if bad == nil {
		bad = p.check.check(p.row)
	}
	if bad == nil {
		p.add(b)
		p.keep(line)
	}
	return bad
}

// add keeps the parser's row in the block.
func (p *blockParser) add(b *block) {
	row := len(b.times)
	for c := range b.columns {
		column, was := &b.columns[c], &p.cells[c]
		present, counts := p.row.Present[c], int16(0)
		if present {
			counts = p.row.Counts[c]
		}
		if row == 0 || counts != was.counts {
			column.counts.add(row, counts)
		}
		if row == 0 {
			was.present = true // as it counts until a row says otherwise
		}
		if present != was.present {
			if row > 0 && len(column.there.values) == 0 {
				column.there.add(0, thereAs(true))
			}
			column.there.add(row, thereAs(present))
		}
		was.counts, was.present = counts, present
	}
	if n := len(b.stretches); n == 0 || b.stretches[n-1].Phase != p.row.Phase {
		b.stretches = append(b.stretches, Stretch{Phase: p.row.Phase, From: row})
	}
	b.addTime(p.row.AtUS)
}

// keep keeps the cells of a row, for the next one to be compared with. One with
// quotes is none to compare with.
func (p *blockParser) keep(line []byte) {
	p.phase = nil
	if bytes.IndexByte(line, '"') >= 0 {
		return
	}
	from := bytes.IndexByte(line, ',')
	for c := range p.cells {
		end := from + 1 + bytes.IndexByte(line[from+1:], ',')
		if c == 0 {
			p.phase = line[from : end+1]
		}
		from = end
		text := line[from+1:]
		p.cells[c].end = '\n'
		if next := bytes.IndexByte(text, ','); next >= 0 {
			text = text[:next+1]
			p.cells[c].end = ','
		}
		p.cells[c].keep(text)
	}
}

func (c *cell) keep(text []byte) {
	if c.size = len(text); c.size > wordBytes {
		c.text, c.mask = 1, 0
		return
	}
	var word [wordBytes]byte
	copy(word[:], text)
	c.text, c.mask = bytesAt(word[:]), firstBytes(c.size)
}

// parseLike parses the row that text begins with, if its phase is that of the row
// before and each of its cells as well, or a plain whole number of an axis that was
// there. It gives the length of the line; 0 for any other, right or wrong, and for
// the last, which are to be read by parseLine.
func (p *blockParser) parseLike(b *block, text []byte) int {
	us, n := leadingTime(text)
	if len(p.phase) == 0 || us <= p.check.lastUS || us > maxUS || !bytes.HasPrefix(text[n:], p.phase) {
		return 0
	}
	n += len(p.phase)
	for c := range p.cells {
		if len(text)-n < wordBytes {
			return 0
		}
		cell := &p.cells[c]
		if w := bytesAt(text[n:]); w&cell.mask != cell.text {
			was := cell.counts
			if !cell.read(w) {
				return 0
			}
			if cell.counts != was {
				b.columns[c].counts.add(len(b.times), cell.counts)
			}
		}
		n += cell.size
	}
	if n > maxRow {
		return 0
	}
	p.check.lastUS = us
	b.addTime(us)
	return n
}

// read makes the cell the one that bytes begin with, if that is a plain whole number
// and the axis was there.
func (c *cell) read(w uint64) bool {
	counts, size := plainCounts(w)
	if size == 0 || !c.present {
		return false
	}
	end := w >> (8 * size)
	if c.end == '\n' && byte(end) == '\r' {
		size++
		end >>= 8
	}
	if byte(end) != c.end {
		return false
	}
	c.counts, c.size = counts, size+1
	c.mask = firstBytes(c.size)
	c.text = w & c.mask
	return true
}
