package curves

import (
	"fmt"
	"strconv"
	"strings"
)

// FieldError says which value of a profile or response is wrong. Its text is
// "file:line:column: path: is found, expected want; remedy", with what is not
// known left out.
type FieldError struct {
	File         string // name of the file, empty for a response in memory
	Line, Column int    // from 1, for errors of syntax; 0 where a path says more
	Path         string // JSON path such as axes[0].shape.low.exponent
	Found        string // what was found: "-1", "missing", …
	Want         string // what was expected
	Remedy       string // what to do about it
}

// Error gives the one-line message described at FieldError.
func (e *FieldError) Error() string {
	var b strings.Builder
	if e.File != "" {
		b.WriteString(e.File)
		if e.Line > 0 {
			fmt.Fprintf(&b, ":%d:%d", e.Line, e.Column)
		}
		b.WriteString(": ")
	} else if e.Line > 0 {
		fmt.Fprintf(&b, "line %d, column %d: ", e.Line, e.Column)
	}
	if e.Path != "" {
		b.WriteString(e.Path + ": ")
	}
	fmt.Fprintf(&b, "is %s, expected %s", e.Found, e.Want)
	if e.Remedy != "" {
		b.WriteString("; " + e.Remedy)
	}
	return b.String()
}

// under returns the error with its path put below parent.
func (e *FieldError) under(parent string) *FieldError {
	c := *e
	switch {
	case parent == "":
	case c.Path == "":
		c.Path = parent
	default:
		c.Path = parent + "." + c.Path
	}
	return &c
}

// number writes a float as short as it can be read back.
func number(x float64) string { return strconv.FormatFloat(x, 'g', -1, 64) }

// inRange reports a value outside lo…hi, both allowed, or not a number.
func inRange(path string, x, lo, hi float64, remedy string) *FieldError {
	if x >= lo && x <= hi {
		return nil
	}
	return &FieldError{Path: path, Found: number(x), Want: number(lo) + " to " + number(hi), Remedy: remedy}
}
