package input

import (
	"errors"
	"io"
	"time"
)

// AppendGapUS is how far the first appended row stands from the last one before
// it, in microseconds: farther than samples do, so that nobody takes the two
// for neighbours. How long nothing was recorded in truth is left out, as a
// drift would be carried over that time.
const AppendGapUS = 1_000_000

// Appender goes on with a recording that was broken off. What it writes is
// whole and flushed as a Writer's is.
type Appender struct {
	*Writer
	offsetUS int64
}

// NewAppender goes on with a recording: w stands behind the last whole row of
// the file that rec was read from, and no head is written. Times of rows count
// from 0 again; in the file they go on a second behind the last row.
func NewAppender(w io.Writer, rec *Recording) (*Appender, error) {
	if len(rec.Extra) > 0 {
		return nil, errors.New("the recording has columns of another program, which cannot be gone on with; begin a new one")
	}
	out := &Writer{w: w, check: newRowCheck(rec.Header, 0), flushedAt: time.Now()}
	a := &Appender{Writer: out}
	if n := rec.Rows(); n > 0 {
		out.check.rows, out.check.lastUS = n, rec.Times.At(n-1)
		out.flushedUS = out.check.lastUS
		a.offsetUS = out.check.lastUS + AppendGapUS
	}
	return a, nil
}

// Write adds a row, as Writer.Write does.
func (a *Appender) Write(row Row) error {
	row.AtUS += a.offsetUS
	return a.Writer.Write(row)
}
