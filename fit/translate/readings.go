package translate

import (
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"
)

// Reading is one noted triple.
type Reading struct {
	Setting  float64 // of the program, in its own units
	Position float64 // share of the throw of one side, 0…1
	Command  float64 // share of full command, 0…1
	Line     int     // of the file
}

// Readings are the readings of one file, in its order, checked.
type Readings struct {
	File string
	Rows []Reading
}

// The columns of the file; others are left alone.
var columns = [...]string{"setting", "position_percent", "command_percent"}

// maxReadings bounds the work; nobody notes so many by hand.
const maxReadings = 1000

// maxBytes leaves every reading room for remarks in further columns.
const maxBytes = 1 << 20

// Read reads a CSV file with a line of column names, setting, position_percent
// and command_percent, in any order and among others; lines that start with #
// are comments. name stands for the file in errors, which are of one line:
// file:line, cause, remedy. Readings that contradict each other are errors too.
func Read(r io.Reader, name string) (*Readings, error) {
	all := &Readings{File: name}
	text, err := all.text(r)
	if err != nil {
		return nil, err
	}
	rows := csv.NewReader(bytes.NewReader(text))
	rows.Comment = '#'
	rows.FieldsPerRecord = -1
	rows.TrimLeadingSpace = true
	rows.ReuseRecord = true
	head, err := rows.Read()
	if err == io.EOF {
		return nil, all.fail(1, "the file is empty; its first line names the columns: %s", strings.Join(columns[:], ","))
	}
	if err != nil {
		return nil, all.broken(err)
	}
	line, _ := rows.FieldPos(0)
	at, err := all.findColumns(head, line)
	if err != nil {
		return nil, err
	}
	width := len(head)
	for {
		row, err := rows.Read()
		if err == io.EOF {
			break
		}
		if err != nil {
			return nil, all.broken(err)
		}
		line, _ = rows.FieldPos(0)
		if len(row) != width {
			return nil, all.fail(line, "expected %d values, one for each column, found %d; write decimals with a point, not a comma", width, len(row))
		}
		if len(all.Rows) == maxReadings {
			return nil, all.fail(line, "there are more than %d readings; keep the ones that differ most", maxReadings)
		}
		reading, err := all.parse(row, at, line)
		if err != nil {
			return nil, err
		}
		all.Rows = append(all.Rows, reading)
	}
	return all, all.check(line)
}

func (r *Readings) fail(line int, format string, args ...any) error {
	return fmt.Errorf("%s:%d: "+format, append([]any{r.File, line}, args...)...)
}

func (r *Readings) broken(err error) error {
	var bad *csv.ParseError
	if errors.As(err, &bad) {
		return r.fail(bad.Line, "%w; take the quotes out", bad.Err)
	}
	return fmt.Errorf("cannot read the readings %s: %w", r.File, err)
}

// text reads the whole file: one too long for readings would otherwise be kept
// in memory a line at a time, and a line may be all of it.
func (r *Readings) text(in io.Reader) ([]byte, error) {
	text, err := io.ReadAll(io.LimitReader(in, maxBytes+1))
	if err != nil {
		return nil, fmt.Errorf("cannot read the readings %s: %w", r.File, err)
	}
	if len(text) > maxBytes {
		return nil, r.fail(1+bytes.Count(text, []byte("\n")), "the file is longer than %d bytes; give one with readings alone", maxBytes)
	}
	for i, line := range bytes.Split(text, []byte("\n")) {
		if !utf8.Valid(line) || bytes.IndexByte(line, 0) >= 0 {
			return nil, r.fail(i+1, "this is not text in UTF-8; save the readings as CSV in UTF-8")
		}
	}
	// Some programs put a byte order mark in front.
	return bytes.TrimPrefix(text, []byte("\ufeff")), nil
}

func (r *Readings) findColumns(head []string, line int) (at [3]int, err error) {
	for i, name := range columns {
		at[i] = -1
		for k, found := range head {
			if strings.TrimSpace(found) != name {
				continue
			}
			if at[i] >= 0 {
				return at, r.fail(line, "the column %s is there twice; take one out", name)
			}
			at[i] = k
		}
		if at[i] < 0 {
			return at, r.fail(line, "there is no column %s in %q; the first line names the columns, separated by commas: %s",
				name, shorten(strings.Join(head, ",")), strings.Join(columns[:], ","))
		}
	}
	return at, nil
}

func shorten(s string) string {
	const most = 60
	if letters := []rune(s); len(letters) > most {
		return string(letters[:most]) + "…"
	}
	return s
}

// maxSetting keeps settings where neighbouring whole numbers stay apart.
const maxSetting = 1e6

func (r *Readings) parse(row []string, at [3]int, line int) (Reading, error) {
	var x [3]float64
	for i, name := range columns {
		cell := strings.TrimSpace(row[at[i]])
		v, err := strconv.ParseFloat(cell, 64)
		if err != nil || math.IsNaN(v) {
			return Reading{}, r.fail(line, "%s is %q, which is not a number; write it like 12.5, without a unit", name, shorten(cell))
		}
		low, high, remedy := 0.0, 100.0, "note a stretch of one side, as 0 to 100 without a sign"
		if i == 0 {
			low, high, remedy = -maxSetting, maxSetting, "note the number that the program shows"
		}
		if v < low || v > high {
			return Reading{}, r.fail(line, "%s is %s, expected %.0f to %.0f; %s", name, shorten(cell), low, high, remedy)
		}
		x[i] = v
	}
	return Reading{Setting: x[0], Position: x[1] / 100, Command: x[2] / 100, Line: line}, nil
}
