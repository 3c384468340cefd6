package devicetest

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"slices"
	"strconv"
	"time"

	"halfstick/input/devicetest/hid"
)

// Sent is one report as the feeder wrote it down.
type Sent struct {
	// CLOCK_MONOTONIC before it went to the kernel, and after the kernel had
	// it; between the two it is anyone's guess whether a reader finds it.
	BeforeNS, AfterNS int64
	Codes             []int // one an axis
}

// ReadSent reads what a feeder has saved.
func ReadSent(file string) ([]Sent, error) {
	content, err := os.ReadFile(file)
	if err != nil {
		return nil, err
	}
	rows, err := csv.NewReader(bytes.NewReader(content)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	sent := make([]Sent, 0, len(rows))
	for _, row := range rows {
		var numbers []int64
		for _, cell := range row {
			number, err := strconv.ParseInt(cell, 10, 64)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", file, err)
			}
			numbers = append(numbers, number)
		}
		if len(numbers) < 3 {
			return nil, fmt.Errorf("%s: a report without codes", file)
		}
		report := Sent{BeforeNS: numbers[0], AfterNS: numbers[1]}
		for _, code := range numbers[2:] {
			report.Codes = append(report.Codes, int(code))
		}
		sent = append(sent, report)
	}
	return sent, nil
}

// kernelAxis is what the Linux kernel does to one axis's codes.
type kernelAxis struct {
	fuzz, raw, value int
}

// next takes a report's code and returns the value that programs see. It
// follows drivers/hid/hid-input.c, which drops a code equal to the one before,
// and input_defuzz_abs_event of drivers/input/input.c, both of Linux 6.1;
// integer division cuts towards zero in both languages.
func (a *kernelAxis) next(raw int) int {
	if raw == a.raw {
		return a.value
	}
	a.raw = raw
	if a.fuzz != 0 {
		distance := raw - a.value
		if distance < 0 {
			distance = -distance
		}
		switch {
		case distance < a.fuzz/2:
			return a.value
		case distance < a.fuzz:
			raw = (a.value*3 + raw) / 4
		case distance < a.fuzz*2:
			raw = (a.value + raw) / 2
		}
	}
	a.value = raw
	return raw
}

// sdlCounts is what SDL 2.26 makes of a code: the range 0…max becomes
// −32768…32767, in single precision (LINUX_JoystickUpdate's AxisCorrect).
func sdlCounts(code, top int) int16 {
	scale := float32(65535) / float32(top)
	return int16(math.Floor(float64(float32(code)*scale + float32(-32768) + 0.5)))
}

// Expected returns the counts that a program sees after each report of a
// device that was plugged in just before the first one: one row a report, one
// value an axis. fuzz is the kernel's filter, one an axis, 0 where it is
// lifted.
func Expected(d hid.Device, sent []Sent, fuzz []int) [][]int16 {
	axes := make([]kernelAxis, len(d.Axes))
	for i := range axes {
		axes[i].fuzz = fuzz[i]
	}
	rows := make([][]int16, len(sent))
	for n, report := range sent {
		for i := range axes {
			value := axes[i].next(report.Codes[i])
			rows[n] = append(rows[n], sdlCounts(value, d.Axes[i].Max()))
		}
	}
	return rows
}

// Match tells how rows of a recording follow what was sent.
type Match struct {
	Reports []int // for each row, the number of the report that it shows
	Seen    int   // different reports that the rows show
	// The recording began between these two instants of the feeder's clock:
	// from the first, no row shows a report before it was sent; up to the
	// second, none lacks a report that the kernel had by then.
	EarliestNS, LatestNS int64
}

// Follow finds for each row the report that it shows, in the order in which
// they were sent. An error names the first row that shows nothing that was
// sent at or after the report of the row before: a sample altered, torn or out
// of order. It is also an error when no start of the recording explains all
// rows: then a report was shown before it was sent, or one that the kernel had
// was missed. timesUS are the instants of the rows from the start of the
// recording; a row is read after its own instant and before the next row's.
func Follow(rows [][]int16, timesUS []int64, sent []Sent, expected [][]int16) (Match, error) {
	m := Match{EarliestNS: math.MinInt64, LatestNS: math.MaxInt64}
	if len(rows) == 0 || len(sent) == 0 {
		return m, fmt.Errorf("%d rows of %d reports have nothing to show", len(rows), len(sent))
	}
	at := 0
	for i, row := range rows {
		from := at
		for at < len(expected) && !slices.Equal(row, expected[at]) {
			at++
		}
		if at == len(expected) {
			return m, fmt.Errorf("row %d at %d µs shows %v, which was not sent after report %d, %v",
				i, timesUS[i], row, from, expected[from])
		}
		if i == 0 || at != from {
			m.Seen++
		}
		m.Reports = append(m.Reports, at)
		if i+1 < len(rows) {
			m.EarliestNS = max(m.EarliestNS, sent[at].BeforeNS-1000*(timesUS[i+1]+1))
		}
		if next := nextOther(expected, at); next < len(sent) {
			m.LatestNS = min(m.LatestNS, sent[next].AfterNS-1000*timesUS[i])
		}
	}
	if m.EarliestNS > m.LatestNS {
		return m, fmt.Errorf("the rows show reports up to %v too early or too late",
			time.Duration(m.EarliestNS-m.LatestNS))
	}
	return m, nil
}

// nextOther is the first report after one that looks different.
func nextOther(expected [][]int16, at int) int {
	next := at + 1
	for next < len(expected) && slices.Equal(expected[next], expected[at]) {
		next++
	}
	return next
}
