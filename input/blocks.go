package input

import (
	"bytes"
	"io"
	"runtime"
	"slices"
	"sync"
)

// blockBytes is how much of a file is parsed at a time: much against what
// handing it over costs, little against a processor's cache.
const blockBytes = 256 << 10

// readBlocks reads all rows into d.to. One goroutine cuts the file into blocks of
// whole lines, so many bytes at a time, one for every processor parses them, and
// this one puts them together in order, so that the result and the first error are
// those of a reader that goes line by line.
func (d *reader) readBlocks(size int) error {
	workers := runtime.GOMAXPROCS(0)
	free := make(chan *block, 2*workers+1)
	for range cap(free) {
		free <- &block{done: make(chan struct{}, 1), columns: make([]blockColumn, len(d.row.Counts))}
	}
	// Both hold all blocks, so that nobody ever waits to send.
	jobs, order := make(chan *block, cap(free)), make(chan *block, cap(free))
	stop := make(chan struct{})
	var cutting sync.WaitGroup
	defer cutting.Wait() // what is read from is the caller's again
	defer close(stop)
	cutting.Go(func() {
		defer close(jobs)
		defer close(order)
		d.cutBlocks(size, free, stop, func(b *block) {
			order <- b
			jobs <- b
		})
	})
	for range workers {
		p := newBlockParser(d.rowParser)
		go func() {
			for b := range jobs {
				p.parse(b)
				b.done <- struct{}{}
			}
		}()
	}
	for b := range order {
		<-b.done
		if err := d.join(b); err != nil {
			return err
		}
		free <- b
	}
	return nil
}

// cutBlocks hands out the file in blocks of whole lines, size bytes or what a line
// takes, until its end or until stop is closed. The last block has what is left
// over, or the error.
func (d *reader) cutBlocks(size int, free <-chan *block, stop <-chan struct{}, give func(*block)) {
	var left []byte // of a line that goes on in the next block
	for {
		var b *block
		select {
		case b = <-free:
		case <-stop:
			return
		}
		b.reset()
		b.text = append(b.text[:0], left...)
		err := error(nil)
		end := 0
		for end == 0 && err == nil && len(b.text) <= maxRow {
			want := size
			if n := d.in.Buffered(); n > 0 {
				want = min(n, size) // what is behind that then goes into blocks at once
			}
			b.text = slices.Grow(b.text, size)
			var n int
			from := len(b.text)
			n, err = io.ReadFull(d.in, b.text[from:from+want])
			b.text = b.text[:from+n]
			end = from + bytes.LastIndexByte(b.text[from:], '\n') + 1
			if end == from {
				end = 0
			}
		}
		left = append(left[:0], b.text[end:]...)
		b.text = b.text[:end]
		switch {
		case len(left) > maxRow:
			b.over = true
		case err == io.EOF || err == io.ErrUnexpectedEOF:
			b.dropped = len(left)
		case err != nil:
			b.err = d.broken(err)
		default:
			give(b)
			continue
		}
		give(b)
		return
	}
}

// join puts the rows of a parsed block behind those that there are.
func (d *reader) join(b *block) error {
	first := d.line
	d.line += b.lines
	rec := &d.to.rec
	start := rec.Rows()
	if len(b.times) > 0 {
		if bad := d.to.check.checkTime(b.times[0]); bad != nil {
			return bad.in(d.name, first+b.firstRow)
		}
	}
	if b.bad != nil {
		return d.fail(b.bad)
	}
	for _, c := range b.comments {
		rec.Comments = append(rec.Comments, Comment{Row: start + c.Row, Text: c.Text})
	}
	rec.Times.join(b.times)
	for i, s := range b.stretches {
		to := len(b.times)
		if i+1 < len(b.stretches) {
			to = b.stretches[i+1].From
		}
		d.to.addStretch(Stretch{Phase: s.Phase, From: start + s.From, To: start + to})
	}
	for c := range rec.Columns {
		rec.Columns[c].join(len(b.times), b.columns[c].counts.lists(), b.columns[c].there.lists())
	}
	d.to.check.rows = rec.Rows()
	if n := len(b.times); n > 0 {
		d.to.check.lastUS = b.times[n-1]
	}
	if b.over {
		d.line++
		return d.fail(tooLong(maxRow))
	}
	rec.DroppedBytes = b.dropped
	return b.err
}
