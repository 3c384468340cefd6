package input

import (
	"errors"
	"fmt"
	"io"
	"strconv"
	"strings"
	"syscall"
	"time"
	"unicode/utf8"
)

const (
	magic      = "# halfstick recording 1"
	timeName   = "t_us"
	phaseName  = "phase"
	headCells  = 2       // t_us and phase come before the axes
	flushEvery = 500_000 // microseconds: at most this is lost to a kill, well below the second promised
	flushBytes = 64 << 10
)

// Writer writes a recording row by row, so that what is on disk is a readable
// recording at any time: the head goes out at once, and rows go out whole, at
// least once a second, both of t_us and of wall time.
type Writer struct {
	w         io.Writer
	buf       []byte
	check     rowCheck
	flushedUS int64 // t_us at the last flush
	flushedAt time.Time
	err       error // the first error of w; everything after it fails with it
}

var errClosed = errors.New("the recording is closed; write before Close")

// NewWriter writes the head of a recording to w, and rows with Write. extra
// names columns beyond those of the axes. It reports a header that breaks the
// format, before anything is written, or the error of w. The caller closes w
// after Close.
func NewWriter(w io.Writer, h Header, extra ...string) (*Writer, error) {
	if bad := h.check(); bad != nil {
		return nil, bad.asError()
	}
	head, err := head(h, extra)
	if err != nil {
		return nil, err
	}
	out := &Writer{w: w, buf: head, check: newRowCheck(h, len(extra)), flushedAt: time.Now()}
	return out, out.Flush()
}

// head is all lines before the first row.
func head(h Header, extra []string) ([]byte, error) {
	text, err := marshal(h)
	if err != nil {
		return nil, fmt.Errorf("the header cannot be written: %w; correct its fields", err)
	}
	out := append([]byte(magic+"\n# "), text...)
	out = append(out, '\n')
	for _, c := range h.Comments {
		if bad := badComment(c); bad != nil {
			return nil, bad.asError()
		}
		out = appendComment(out, c)
	}
	out = append(out, timeName+","+phaseName...)
	seen := map[string]bool{timeName: true, phaseName: true}
	for _, d := range h.Devices {
		for _, a := range d.Axes {
			seen[columnName(d, a)] = true
			out = append(append(out, ','), columnName(d, a)...)
		}
	}
	for _, name := range extra {
		if name == "" || seen[name] || strings.ContainsAny(name, "\r\n") || !utf8.ValidString(name) {
			return nil, fmt.Errorf("the extra column %s cannot be written; give each column its own name", show(name))
		}
		seen[name] = true
		out = appendCell(append(out, ','), name)
	}
	return append(out, '\n'), nil
}

// Write adds a row. A row that breaks the format is refused with what is wrong
// with it, and the recording can go on with the next.
func (w *Writer) Write(row Row) error {
	if w.err != nil {
		return w.err
	}
	for _, cell := range row.Extra {
		if !utf8.ValidString(cell) {
			return fmt.Errorf("the cell %s is not UTF-8; write text only", show(cell))
		}
	}
	first := w.check.rows == 0
	if bad := w.check.check(row); bad != nil {
		return bad.asError()
	}
	if first {
		w.flushedUS = row.AtUS
	}
	w.append(row)
	if w.due(row.AtUS) {
		return w.Flush()
	}
	return nil
}

// Comment adds a comment line behind the rows so far; text is without the '#'.
func (w *Writer) Comment(text string) error {
	if w.err != nil {
		return w.err
	}
	if bad := badComment(text); bad != nil {
		return bad.asError()
	}
	w.buf = appendComment(w.buf, text)
	return nil
}

func appendComment(b []byte, text string) []byte {
	return append(append(append(b, '#'), text...), '\n')
}

func (w *Writer) append(row Row) {
	for _, text := range row.Comments {
		w.buf = appendComment(w.buf, text)
	}
	b := strconv.AppendInt(w.buf, row.AtUS, 10)
	b = append(append(b, ','), row.Phase.String()...)
	for i, counts := range row.Counts {
		b = append(b, ',')
		if row.Present == nil || row.Present[i] {
			b = strconv.AppendInt(b, int64(counts), 10)
		}
	}
	for _, cell := range row.Extra {
		b = appendCell(append(b, ','), cell)
	}
	w.buf = append(b, '\n')
}

func (w *Writer) due(atUS int64) bool {
	return atUS-w.flushedUS >= flushEvery || len(w.buf) >= flushBytes ||
		time.Since(w.flushedAt) >= flushEvery*time.Microsecond
}

// Flush hands all rows so far to the underlying writer.
func (w *Writer) Flush() error {
	if w.err != nil {
		return w.err
	}
	if len(w.buf) > 0 {
		if _, err := w.w.Write(w.buf); err != nil {
			w.err = fmt.Errorf("the recording cannot be written: %w%s", err, writeRemedy(err))
			return w.err
		}
	}
	w.buf = w.buf[:0]
	w.flushedUS, w.flushedAt = w.check.lastUS, time.Now()
	return nil
}

// writeRemedy says what to do about a write that failed, where that is known.
func writeRemedy(err error) string {
	if errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT) || errors.Is(err, syscall.EFBIG) {
		return "; make room there, or record into another folder"
	}
	return ""
}

// Close flushes and ends the recording. It does not close the underlying
// writer.
func (w *Writer) Close() error {
	if w.err == errClosed {
		return nil
	}
	err := w.Flush()
	if err == nil {
		w.err = errClosed
	}
	return err
}

// appendCell writes a cell of text, quoted where RFC 4180 asks for it.
func appendCell(b []byte, cell string) []byte {
	if !strings.ContainsAny(cell, "\",\r\n") {
		return append(b, cell...)
	}
	b = append(b, '"')
	b = append(b, strings.ReplaceAll(cell, `"`, `""`)...)
	return append(b, '"')
}
