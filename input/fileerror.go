package input

import (
	"errors"
	"fmt"
	"strconv"
	"strings"
	"unicode/utf8"
)

// FileError is what is wrong with a recording file.
type FileError struct {
	File   string // the name given to Read or Open
	Line   int    // from 1; where the row begins, if it spans lines
	Path   string // JSON path inside the header line, or ""
	Want   string // what was expected
	Found  string // what was there instead
	Remedy string // what to do about it
}

// Error is one line: file:line, the path if any, cause, remedy.
func (e *FileError) Error() string {
	p := problem{path: e.Path, want: e.Want, found: e.Found, remedy: e.Remedy}
	return fmt.Sprintf("%s:%d: %s", e.File, e.Line, p)
}

// problem is a fault whose file and line are not known where it is noticed.
type problem struct{ path, want, found, remedy string }

func (p problem) String() string {
	var b strings.Builder
	if p.path != "" {
		b.WriteString(p.path + ": ")
	}
	b.WriteString("expected " + p.want + ", found " + p.found)
	if p.remedy != "" {
		b.WriteString("; " + p.remedy)
	}
	return b.String()
}

func (p *problem) asError() error { return errors.New(p.String()) }

func (p *problem) in(file string, line int) *FileError {
	return &FileError{File: file, Line: line, Path: p.path, Want: p.want, Found: p.found, Remedy: p.remedy}
}

// maxShown bounds how much of a file an error message repeats, in bytes.
const maxShown = 60

// show quotes what was found, cut to a length that fits a line.
func show[T ~string | ~[]byte](found T) string {
	s := string(found[:min(len(found), maxShown+utf8.UTFMax)])
	if len(s) <= maxShown {
		return strconv.Quote(s)
	}
	cut := maxShown
	for cut > 0 && !utf8.RuneStart(s[cut]) {
		cut--
	}
	return strconv.Quote(s[:cut]) + "…"
}
