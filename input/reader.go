package input

import (
	"bufio"
	"bytes"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"unicode/utf8"
)

const (
	readBytes = 256 << 10
	maxHead   = 16 << 20 // bytes of a line before the rows
	maxRow    = 1 << 20  // bytes of a row
)

// Open reads the recording in a file. Beside the errors of Read there are those
// of the file system.
func Open(path string) (*Recording, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("cannot open the recording: %w; check the path", err)
	}
	defer f.Close()
	return Read(f, path)
}

// Read reads a recording; name stands for the file in errors. What breaks the
// format is a *FileError; an error of r is wrapped. A last row without a line
// end may be cut short, even if it looks whole: it is left out, and counted in
// DroppedBytes.
func Read(r io.Reader, name string) (*Recording, error) {
	d := &reader{in: bufio.NewReaderSize(r, readBytes), name: name, rowParser: rowParser{phases: map[string]Phase{}}}
	if err := d.readHead(); err != nil {
		return nil, err
	}
	var err error
	if len(d.to.rec.Extra) > 0 {
		err = d.readRows() // their cells may have line ends in quotes
	} else {
		err = d.readBlocks(blockBytes)
	}
	if err != nil {
		return nil, err
	}
	return d.to.Recording(), nil
}

// reader goes through a recording line by line.
type reader struct {
	in   *bufio.Reader
	name string
	line int    // number of the line read last, from 1
	long []byte // a line that outgrew the buffer of in

	rowParser
	to *Collector

	isComment bool   // the line read last was one
	lines     []byte // a row whose quotes span lines
}

// rowParser turns the cells of a row into what they say.
type rowParser struct {
	split  splitter
	axis   []int    // per cell: column, or ^number of an extra column; t_us and phase apart
	names  []string // of the columns
	check  rowCheck
	phases map[string]Phase // phase cells met so far
	row    Row
}

// newRow is a row with room for its columns.
func newRow(columns, extras int) Row {
	return Row{Counts: make([]int16, columns), Present: make([]bool, columns), Extra: make([]string, extras)}
}

func (d *reader) fail(bad *problem) error { return bad.in(d.name, d.line) }

// next returns the next line with its end; the last line of a file may have
// none. The line is good until the next call. The error is io.EOF behind the
// last line.
func (d *reader) next(limit int) ([]byte, error) {
	line, err := d.in.ReadSlice('\n')
	if err == bufio.ErrBufferFull {
		line, err = d.nextLong(line, limit)
	}
	if err != nil && err != io.EOF && err != bufio.ErrBufferFull {
		return nil, d.broken(err)
	}
	if len(line) == 0 {
		return nil, io.EOF
	}
	d.line++
	if len(line) > limit {
		return nil, d.fail(tooLong(limit))
	}
	return line, nil
}

func (d *reader) nextLong(start []byte, limit int) ([]byte, error) {
	d.long = append(d.long[:0], start...)
	for {
		more, err := d.in.ReadSlice('\n')
		d.long = append(d.long, more...)
		if err != bufio.ErrBufferFull || len(d.long) > limit {
			return d.long, err
		}
	}
}

func (d *reader) broken(err error) error {
	return fmt.Errorf("cannot read the recording %s: %w", d.name, err)
}

func tooLong(limit int) *problem {
	return &problem{want: fmt.Sprintf("a line of at most %d bytes", limit), found: "a longer one",
		remedy: "check that this is a recording and that no quotes are left open"}
}

// chomp takes the line end off; whole is false if there was none.
func chomp(line []byte) (text []byte, whole bool) {
	text, whole = bytes.CutSuffix(line, []byte("\n"))
	if whole {
		text = bytes.TrimSuffix(text, []byte("\r"))
	}
	return text, whole
}

// nextHead returns the next line of the head, without its end. The end of the
// file is a fault there.
func (d *reader) nextHead(want string) ([]byte, error) {
	raw, err := d.next(maxHead)
	if err != nil && err != io.EOF {
		return nil, err
	}
	line, whole := chomp(raw)
	if !whole {
		if raw == nil {
			d.line++
		}
		return nil, d.fail(&problem{want: want, found: "the end of the file", remedy: cutOff})
	}
	return line, nil
}

const cutOff = "the recording was cut off before its first row; record again"

func (d *reader) readHead() error {
	if err := d.readMagic(); err != nil {
		return err
	}
	line, err := d.nextHead("the header line")
	if err != nil {
		return err
	}
	text, ok := bytes.CutPrefix(line, []byte("# "))
	if !ok {
		return d.fail(&problem{want: `the header as JSON behind "# "`, found: show(line), remedy: "put the header line back"})
	}
	h, bad := parseHeader(text)
	if bad != nil {
		return d.fail(bad)
	}
	for {
		line, err = d.nextHead("the line of column names")
		if err != nil {
			return err
		}
		if !utf8.Valid(line) {
			return d.fail(&problem{want: "UTF-8", found: show(line), remedy: "save the file as UTF-8"})
		}
		comment, ok := bytes.CutPrefix(line, []byte("#"))
		if !ok {
			return d.readColumns(line, h)
		}
		if bad := badComment(string(comment)); bad != nil {
			return d.fail(bad)
		}
		h.Comments = append(h.Comments, string(comment))
	}
}

// readMagic reads the first line and says what else the file may be.
func (d *reader) readMagic() error {
	start, err := d.in.Peek(4)
	if err != nil && err != io.EOF {
		return fmt.Errorf("cannot read the recording %s: %w", d.name, err)
	}
	if bytes.HasPrefix(start, []byte(utf8BOM)) {
		d.in.Discard(len(utf8BOM)) // cannot fail: it is in the buffer
	} else if found, remedy := foreign(start); found != "" {
		d.line = 1
		return d.fail(&problem{want: show(magic), found: found, remedy: remedy})
	}
	raw, err := d.next(maxHead)
	if err != nil && err != io.EOF {
		return err
	}
	line, whole := chomp(raw)
	if whole && string(bytes.TrimRight(line, " \t")) == magic {
		return nil
	}
	d.line = 1
	return d.fail(wrongMagic(line, whole))
}

func wrongMagic(line []byte, whole bool) *problem {
	bad := &problem{want: show(magic), found: show(line), remedy: "give a recording that halfstick has made"}
	switch {
	case !whole && bytes.HasPrefix([]byte(magic), line):
		bad.found, bad.remedy = "the end of the file", cutOff
	case bytes.HasPrefix(line, []byte(magic[:len(magic)-1])):
		bad.remedy = "this version of the format is not known; use a newer halfstick"
	case bytes.IndexByte(line, 0) >= 0 || !utf8.Valid(line):
		bad.found = "binary data"
	case bytes.HasPrefix(line, []byte("{")):
		bad.found, bad.remedy = "JSON", "a profile or a measurement is not a recording; give the recording"
	}
	return bad
}

const utf8BOM = "\xef\xbb\xbf"

// foreign names the kinds of file that people mistake for a recording.
func foreign(start []byte) (found, remedy string) {
	is := func(sign string) bool { return bytes.HasPrefix(start, []byte(sign)) }
	switch {
	case len(start) == 0:
		return "an empty file", "record again"
	case is("\x1f\x8b"):
		return "a gzip file", "unpack it first"
	case is("PK\x03\x04"):
		return "a zip file", "unpack it first; a spreadsheet must be saved as CSV"
	case is("\xff\xfe"), is("\xfe\xff"):
		return "text in UTF-16", "save the file as UTF-8"
	}
	return "", ""
}

// readColumns matches the line of column names with the header's axes, which
// must all be there in order; other names are extra columns.
func (d *reader) readColumns(line []byte, h Header) error {
	open, bad := d.split.split(line)
	if bad == nil && open != notOpen {
		bad = leftOpen(open)
	}
	if bad != nil {
		return d.fail(bad)
	}
	want := []string{timeName, phaseName}
	isAxis := map[string]bool{}
	for _, dev := range h.Devices {
		for _, a := range dev.Axes {
			want = append(want, columnName(dev, a))
			isAxis[columnName(dev, a)] = true
		}
	}
	var extra []string
	seen := map[string]bool{}
	next := 0
	for i, cell := range d.split.cells {
		name := string(cell)
		switch {
		case next < len(want) && name == want[next]:
			next++
			d.axis = append(d.axis, next-1-headCells)
		case i < headCells || name == "" || seen[name] || isAxis[name]:
			return d.fail(wrongColumn(i, want, next, name))
		default:
			d.axis = append(d.axis, ^len(extra))
			extra = append(extra, name)
		}
		seen[name] = true
	}
	if next < len(want) {
		return d.fail(wrongColumn(len(d.axis), want, next, ""))
	}
	d.to = newCollector(h, extra)
	d.names, d.check = want[headCells:], d.to.check
	d.row = newRow(len(d.names), len(extra))
	return nil
}

func wrongColumn(i int, want []string, next int, found string) *problem {
	bad := &problem{want: "a new name for column " + strconv.Itoa(i+1), found: show(found),
		remedy: "let the columns follow the axes of the header line"}
	if next < len(want) {
		bad.want = "the column " + want[next]
	}
	if i == 0 && strings.HasPrefix(found, timeName) {
		switch found[len(timeName):][:min(1, len(found)-len(timeName))] {
		case ";":
			bad.remedy = "part the cells by commas, not semicolons"
		case "\t":
			bad.remedy = "part the cells by commas, not tabs"
		}
	}
	if found == "" {
		bad.found = "no name"
	}
	return bad
}
