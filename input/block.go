package input

import (
	"bytes"
	"math"
)

// block is some whole lines of a file, each a row or a comment, and what they
// say. Rows and lines count from the block's first.
type block struct {
	text []byte
	done chan struct{} // receives when the lines have been parsed

	lines     int
	times     []int64
	stretches []Stretch
	changes   [][]change // of each column
	comments  []Comment
	firstRow  int // line of the first row

	bad     *problem // what breaks the format in the last line that was parsed
	dropped int      // bytes behind the lines, where the file ends
	over    bool     // behind the lines there is one that is too long
	err     error    // of the file, behind the lines
}

// change is a row in which an axis does not stand as in the row before.
type change struct {
	row     int32
	counts  int16
	present bool
}

func (b *block) reset() {
	b.lines, b.firstRow, b.dropped, b.over, b.bad, b.err = 0, 0, 0, false, nil, nil
	b.times, b.stretches, b.comments = b.times[:0], b.stretches[:0], b.comments[:0]
	for c := range b.changes {
		b.changes[c] = b.changes[c][:0]
	}
}

// blockParser parses blocks of a recording without extra columns, in which
// every line is a row or a comment.
type blockParser struct {
	rowParser
	before []byte // what stands behind t_us in the row before; nil at first
	phase  []byte // the phase cell that row.Phase came from
	now    []change
}

func newBlockParser(p rowParser) *blockParser {
	p.split, p.phases = splitter{}, map[string]Phase{}
	p.row = newRow(len(p.row.Counts), 0)
	return &blockParser{rowParser: p, now: make([]change, len(p.row.Counts))}
}

// parse goes through the lines of a block, up to one that breaks the format.
func (p *blockParser) parse(b *block) {
	p.before = nil
	p.check.rows = 0 // who joins the blocks looks at the time between them
	for text := b.text; len(text) > 0; {
		end := bytes.IndexByte(text, '\n')
		line, _ := chomp(text[:end+1])
		text = text[end+1:]
		b.lines++
		if end >= maxRow {
			b.bad = tooLong(maxRow)
		} else if comment, ok := bytes.CutPrefix(line, []byte("#")); ok {
			b.bad = b.comment(string(comment))
		} else {
			b.bad = p.parseLine(b, line)
		}
		if b.bad != nil {
			return
		}
	}
}

func (b *block) comment(text string) *problem {
	b.comments = append(b.comments, Comment{Row: len(b.times), Text: text})
	return badComment(text)
}

// parseLine parses a row. Most rows repeat the last one but for t_us, as devices
// report less often than they are sampled; most others are plain numbers.
func (p *blockParser) parseLine(b *block, line []byte) *problem {
	comma := max(0, bytes.IndexByte(line, ','))
	rest := line[comma:]
	at, ok := parseInt(line[:comma])
	if ok && p.check.checkTime(at) == nil {
		if p.before != nil && bytes.Equal(rest, p.before) {
			p.check.rows, p.check.lastUS = p.check.rows+1, at
			b.addTime(at)
			return nil
		}
		if p.before != nil && p.plain(rest) {
			p.row.AtUS = at
			p.check.rows, p.check.lastUS = p.check.rows+1, at
			p.before = rest
			b.add(p)
			return nil
		}
	}
	open, bad := p.split.split(line)
	if bad == nil && open != notOpen {
		bad = leftOpen(open)
	}
	if bad == nil {
		bad = p.parseRow()
	}
	if bad == nil {
		bad = p.check.check(p.row)
	}
	if bad != nil {
		return bad
	}
	p.before, p.phase = rest, p.split.cells[1]
	b.add(p)
	return nil
}

// plain reads what stands behind t_us if it is the phase of the row before and
// a whole number for every axis. It is false for anything else, be it right or
// wrong; p.row is then to be read anew.
func (p *blockParser) plain(rest []byte) bool {
	rest, ok := bytes.CutPrefix(rest[1:], p.phase)
	if !ok {
		return false
	}
	for c := range p.row.Counts {
		if len(rest) == 0 || rest[0] != ',' {
			return false
		}
		i, negative := 1, false
		if len(rest) > 1 && rest[1] == '-' {
			i, negative = 2, true
		}
		n, first := 0, i
		for ; i < len(rest) && rest[i]-'0' <= 9; i++ {
			n = 10*n + int(rest[i]-'0')
		}
		if negative {
			n = -n
		}
		if i == first || i-first > 5 || n < math.MinInt16 || n > math.MaxInt16 {
			return false
		}
		p.row.Counts[c], p.row.Present[c] = int16(n), true
		rest = rest[i:]
	}
	return len(rest) == 0
}

// add keeps the parser's row.
func (b *block) add(p *blockParser) {
	row := int32(len(b.times))
	for c, counts := range p.row.Counts {
		now := change{row: row, counts: counts, present: p.row.Present[c]}
		if was := p.now[c]; row == 0 || now.counts != was.counts || now.present != was.present {
			b.changes[c] = append(b.changes[c], now)
			p.now[c] = now
		}
	}
	if n := len(b.stretches); n == 0 || b.stretches[n-1].Phase != p.row.Phase {
		b.stretches = append(b.stretches, Stretch{Phase: p.row.Phase, From: int(row)})
	}
	b.addTime(p.row.AtUS)
}

func (b *block) addTime(us int64) {
	if len(b.times) == 0 {
		b.firstRow = b.lines
	}
	b.times = append(b.times, us)
}
