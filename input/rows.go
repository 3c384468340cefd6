package input

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"unicode/utf8"
)

// readRows reads all rows into d.to, line by line.
func (d *reader) readRows() error {
	for {
		first := d.line + 1
		dropped, err := d.nextRow()
		if err == io.EOF {
			d.to.rec.DroppedBytes = dropped
			return nil
		}
		if err != nil {
			return err
		}
		if d.isComment {
			continue
		}
		bad := d.parseRow()
		if bad == nil {
			bad = d.to.add(d.row)
		}
		if bad != nil {
			return bad.in(d.name, first)
		}
	}
}

// nextRow splits the next row into d.split.cells, or keeps the comment that
// stands there instead, as d.isComment then says. At the end of the file it gives
// io.EOF and how many bytes of an unfinished row were left over.
func (d *reader) nextRow() (dropped int, err error) {
	raw, err := d.next(maxRow)
	if err != nil {
		return 0, err
	}
	line, whole := chomp(raw)
	if !whole {
		return len(raw), io.EOF
	}
	text, isComment := bytes.CutPrefix(line, []byte("#"))
	if d.isComment = isComment; isComment {
		if bad := badComment(string(text)); bad != nil {
			return 0, d.fail(bad)
		}
		d.to.comment(string(text))
		return 0, nil
	}
	open, bad := d.split.split(line)
	if bad == nil && open != notOpen {
		bad = d.checkOpen(open)
	}
	if bad != nil {
		return 0, d.fail(bad)
	}
	if open == notOpen {
		return 0, nil
	}
	return d.nextLines(raw)
}

// checkOpen allows a line end inside quotes in extra columns only: anywhere
// else a stray quote would swallow the rows below it.
func (d *reader) checkOpen(cell int) *problem {
	if cell >= headCells && cell < len(d.axis) && d.axis[cell] < 0 {
		return nil
	}
	return leftOpen(cell)
}

func leftOpen(cell int) *problem {
	return &problem{want: "the closing quote of cell " + fmt.Sprint(cell+1), found: "the end of the line",
		remedy: "close the quotes or take them out"}
}

// nextLines goes on with a row whose quotes are open at the end of its first
// line. Inside quotes every quote is doubled, so they are closed where the
// number of quotes is even.
func (d *reader) nextLines(raw []byte) (dropped int, err error) {
	first := d.line
	d.lines = append(d.lines[:0], raw...)
	for open := true; open; {
		raw, err := d.next(maxRow)
		if err == io.EOF {
			return len(d.lines), io.EOF
		}
		if err != nil {
			return 0, err
		}
		d.lines = append(d.lines, raw...)
		if len(d.lines) > maxRow {
			return 0, tooLong(maxRow).in(d.name, first)
		}
		open = bytes.Count(raw, []byte{'"'})%2 == 0
	}
	line, whole := chomp(d.lines)
	if !whole {
		return len(d.lines), io.EOF
	}
	if _, bad := d.split.split(line); bad != nil {
		return 0, bad.in(d.name, first)
	}
	return 0, nil
}

// parseRow turns p.split.cells into p.row.
func (p *rowParser) parseRow() *problem {
	cells := p.split.cells
	if len(cells) != len(p.axis) {
		found := fmt.Sprint(len(cells))
		if len(cells) == 1 && len(cells[0]) == 0 {
			found = "an empty line"
		}
		return &problem{want: fmt.Sprintf("%d cells, as many as columns", len(p.axis)),
			found: found, remedy: "complete the row or take it out"}
	}
	at, ok := parseInt(cells[0])
	if !ok {
		return &problem{want: "t_us as whole microseconds", found: show(cells[0]), remedy: "correct the cell"}
	}
	p.row.AtUS = at
	if bad := p.parsePhase(cells[1]); bad != nil {
		return bad
	}
	for i := headCells; i < len(cells); i++ {
		if n := p.axis[i]; n >= 0 {
			if bad := p.parseCounts(cells[i], n); bad != nil {
				return bad
			}
		} else if bad := p.keepExtra(cells[i], ^n); bad != nil {
			return bad
		}
	}
	return nil
}

func (p *rowParser) parsePhase(cell []byte) *problem {
	phase, ok := p.phases[string(cell)]
	if !ok {
		var bad *problem
		if phase, bad = splitPhase(string(cell)); bad == nil {
			bad = p.check.checkPhase(phase)
		}
		if bad != nil {
			return bad
		}
		p.phases[string(cell)] = phase
	}
	p.row.Phase = phase
	return nil
}

func (p *rowParser) parseCounts(cell []byte, column int) *problem {
	present := len(cell) > 0
	p.row.Present[column] = present
	if !present {
		return nil
	}
	n, ok := parseInt(cell)
	if !ok || n < math.MinInt16 || n > math.MaxInt16 {
		return &problem{want: fmt.Sprintf("%s as a whole number from %d to %d", p.names[column], math.MinInt16, math.MaxInt16),
			found: show(cell), remedy: "correct the cell, or leave it empty where the device was absent"}
	}
	p.row.Counts[column] = int16(n)
	return nil
}

// keepExtra keeps a cell of an unknown column; one that repeats the row before
// shares its memory.
func (p *rowParser) keepExtra(cell []byte, n int) *problem {
	if p.row.Extra[n] == string(cell) {
		return nil
	}
	if !utf8.Valid(cell) {
		return &problem{want: "UTF-8", found: show(cell), remedy: "save the file as UTF-8"}
	}
	p.row.Extra[n] = string(cell)
	return nil
}
