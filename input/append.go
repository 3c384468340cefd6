package input

import (
	"errors"
	"fmt"
	"io"
	"os"
	"time"
)

// PauseUS is the longest pause between two rows, in microseconds, over which a
// movement counts as seen. A recorder's late samples stay below it; what a hand
// did while a machine stood still for longer is unknown.
const PauseUS = 250_000

// AppendGapUS is how far the first appended row stands from the last one before
// it, in microseconds: farther than PauseUS, so that nobody takes the two for
// neighbours. How long nothing was recorded in truth is left out, as a
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

// OpenAppender opens the file that rec was read from to go on with it. A last
// row that was cut short goes, as it does when the file is read. The file is the
// caller's to close, after the appender.
func OpenAppender(path string, rec *Recording) (*os.File, *Appender, error) {
	file, err := os.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return nil, nil, fmt.Errorf("cannot go on with the recording: %w; copy it to a file that you may write to", err)
	}
	size, err := file.Seek(0, io.SeekEnd)
	if err == nil {
		err = file.Truncate(size - int64(rec.DroppedBytes))
	}
	if err == nil {
		_, err = file.Seek(0, io.SeekEnd)
	}
	if err != nil {
		return nil, nil, errors.Join(fmt.Errorf("cannot go on with the recording: %w", err), file.Close())
	}
	out, err := NewAppender(file, rec)
	if err != nil {
		return nil, nil, errors.Join(err, file.Close())
	}
	return file, out, nil
}

// Write adds a row, as Writer.Write does.
func (a *Appender) Write(row Row) error {
	row.AtUS += a.offsetUS
	return a.Writer.Write(row)
}
