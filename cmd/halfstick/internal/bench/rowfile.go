package bench

import (
	"errors"
	"fmt"
	"os"

	"halfstick/input"
)

// rowFile is a recording that is being written in the session's folder.
type rowFile struct {
	path   string
	file   *os.File
	out    rowsOut
	behind *input.Background // keeps the disk off the sampling thread; nil with a clock that jumps
}

// rowsOut is what writes the rows.
type rowsOut interface {
	input.FlushWriter
	Close() error
}

// createRows makes the file of a recording. A clock that jumps outruns any
// disk, and is held up by none.
func createRows(path string, h input.Header, jumps bool) (*rowFile, error) {
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return nil, fmt.Errorf("cannot make the recording: %w; choose another folder with --session", err)
	}
	out, err := input.NewWriter(file, h)
	if err != nil {
		return nil, errors.Join(err, file.Close(), os.Remove(path))
	}
	return newRowFile(path, file, out, h.RateHz, jumps), nil
}

// appendRows goes on with a recording that was read from path.
func appendRows(path string, rec *input.Recording, jumps bool) (*rowFile, error) {
	file, out, err := input.OpenAppender(path, rec)
	if err != nil {
		return nil, err
	}
	return newRowFile(path, file, out, rec.Header.RateHz, jumps), nil
}

func newRowFile(path string, file *os.File, out rowsOut, rateHz float64, jumps bool) *rowFile {
	f := &rowFile{path: path, file: file, out: out}
	if !jumps {
		f.behind = input.NewBackground(out, rateHz, file.Sync)
	}
	return f
}

// Write takes a row, on the sampling goroutine.
func (f *rowFile) Write(row input.Row) error {
	if f.behind != nil {
		return f.behind.Write(row)
	}
	return f.out.Write(row)
}

// close ends the file; nobody writes any more.
func (f *rowFile) close() error {
	var failed error
	if f.behind != nil {
		failed = f.behind.Close()
	}
	return errors.Join(failed, f.out.Close(), f.file.Close())
}
