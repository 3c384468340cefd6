package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"
	"unicode"

	"halfstick/fit/measure"
	"halfstick/input"
	"halfstick/input/rig"
)

// goodRecording is what all bad recordings are made from: half a minute of the
// simulated pedals, without comments.
var goodRecording = sync.OnceValues(func() (string, error) {
	specs := rig.DefaultSpecs(1)
	r, err := rig.New(specs[len(specs)-1:], 1)
	if err != nil {
		return "", err
	}
	plan := rig.Plan{Sweeps: 1, SweepsOne: 1, SweepSeconds: 2, RestSeconds: 10, Releases: 1, ReleasesOne: 1, Settle: 2, HoldSeconds: 1}
	if err := r.SetScript(r.PlannedScript(plan)); err != nil {
		return "", err
	}
	clock := &input.JumpClock{}
	src := r.Source(clock)
	var out bytes.Buffer
	w, err := input.NewWriter(&out, input.NewHeader(src, time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC), 100))
	if err != nil {
		return "", err
	}
	_, err = input.Record(context.Background(), src, w, input.RecordOptions{RateHz: 100, For: r.Duration(), PhaseAt: r.PhaseAt, Clock: clock})
	if err == nil {
		err = w.Close()
	}
	lines := strings.SplitAfter(out.String(), "\n")
	rows := lines[:0:0]
	for i, line := range lines {
		if i < 2 || !strings.HasPrefix(line, "#") {
			rows = append(rows, line)
		}
	}
	return strings.Join(rows, ""), err
})

func mustGood(t testing.TB) string {
	t.Helper()
	text, err := goodRecording()
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// badRecording is a recording made from the good one, and what must come of it:
// an error at a line, or a measurement.
type badRecording struct {
	name  string
	spoil func(f file) string
	line  int    // of the error; 0 for what measure says, which has no line
	says  string // part of the error; empty where it is measured
	// measures looks at the measurement; nil if it must be the good one's.
	measures func(m, good *measure.Measurement) error
}

// file is the good recording in parts, each with its line ends.
type file struct {
	magic, header, columns string
	rows                   []string
}

func (f file) text() string { return f.head() + f.body() }
func (f file) head() string { return f.magic + f.header + f.columns }
func (f file) body() string { return strings.Join(f.rows, "") }

// lines is the number of lines of the file.
func (f file) lines() int { return 3 + len(f.rows) }

// badRow is the row that is spoilt where one is, and badLine its line.
const (
	badRow  = 100
	badLine = badRow + 4
)

// withRow is the recording with another row, or rows, in place of one.
func withRow(change func(cells []string) string) func(file) string {
	return func(f file) string {
		rows := append([]string(nil), f.rows...)
		rows[badRow] = change(strings.Split(strings.TrimSuffix(rows[badRow], "\n"), ",")) + "\n"
		f.rows = rows
		return f.text()
	}
}

// withCell is the recording with another cell in one row; 0 is the time, 1 the
// phase.
func withCell(cell int, text string) func(file) string {
	return withRow(func(cells []string) string {
		cells[cell] = text
		return strings.Join(cells, ",")
	})
}

// eachRow changes every row's cells, which number is the row's.
func eachRow(change func(row int, cells []string) []string) func(file) string {
	return func(f file) string {
		rows := make([]string, len(f.rows))
		for i, row := range f.rows {
			rows[i] = strings.Join(change(i, strings.Split(strings.TrimSuffix(row, "\n"), ",")), ",") + "\n"
		}
		f.rows = rows
		return f.text()
	}
}

// inHeader is the recording with a part of its header replaced, once.
func inHeader(old, new string) func(file) string {
	return func(f file) string {
		if !strings.Contains(f.header, old) {
			panic("the good header has no " + old)
		}
		f.header = strings.Replace(f.header, old, new, 1)
		return f.text()
	}
}

func everywhere(old, new string) func(file) string {
	return func(f file) string { return strings.ReplaceAll(f.text(), old, new) }
}

// Whatever is wrong with a recording that somebody sends, it is either measured
// for what is right in it, or refused with the line, the cause and a remedy.
func TestBadRecordings(t *testing.T) {
	text := mustGood(t)
	parts := strings.SplitAfter(strings.TrimSuffix(text, "\n"), "\n")
	parts[len(parts)-1] += "\n"
	good := file{parts[0], parts[1], parts[2], parts[3:]}
	want, err := measureText(text)
	if err != nil {
		t.Fatal(err)
	}
	cases := append(append(brokenHeads, brokenRows...), measurable...)
	if len(cases) < 100 {
		t.Errorf("only %d bad recordings are left", len(cases))
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			spoilt := c.spoil(good)
			if c.name != "as it is" && spoilt == text {
				t.Fatal("nothing is spoilt")
			}
			m, err := measureText(spoilt)
			if c.line == lastLine {
				c.line = good.lines() + 1
			}
			if c.says != "" {
				if m != nil {
					t.Error("a measurement came with the error")
				}
				checkRefusal(t, err, c.line, c.says)
				return
			}
			if err != nil {
				t.Fatal(err)
			}
			if c.measures != nil {
				err = c.measures(m, want)
			} else if !reflect.DeepEqual(m, want) {
				err = fmt.Errorf("it is not the measurement of the good recording")
			}
			if err != nil {
				t.Error(err)
			}
			checkShown(t, m)
		})
	}
}

func measureText(text string) (*measure.Measurement, error) {
	rec, err := input.Read(strings.NewReader(text), "sent.csv")
	if err != nil {
		return nil, err
	}
	return measure.Recording(rec, "sent.csv")
}

func checkRefusal(t *testing.T, err error, line int, says string) {
	t.Helper()
	if err == nil {
		t.Fatal("it is taken")
	}
	message := err.Error()
	var at *input.FileError
	switch {
	case line == 0:
		if !strings.HasPrefix(message, "sent.csv: ") {
			t.Errorf("%q names no file", message)
		}
	case !errors.As(err, &at) || at.Line != line:
		t.Errorf("%q is not about line %d", message, line)
	case at.Want == "" || at.Found == "" || at.Remedy == "":
		t.Errorf("%q leaves out cause or remedy", message)
	}
	if !strings.Contains(message, says) {
		t.Errorf("says %q, want %q in it", message, says)
	}
	if len(message) > 500 || strings.ContainsFunc(message, unicode.IsControl) {
		t.Errorf("%q is not one short line of plain text", message)
	}
}

// checkShown sees to it that a measurement can be shown: JSON has no number for
// what is none.
func checkShown(t *testing.T, m *measure.Measurement) {
	t.Helper()
	if _, err := json.Marshal(m); err != nil {
		t.Errorf("no JSON: %v", err)
	}
	var out bytes.Buffer
	if err := printMeasurement(&out, m); err != nil || out.Len() == 0 {
		t.Errorf("printed %d bytes, %v", out.Len(), err)
	}
	for _, nonsense := range []string{"NaN", "Inf", "%!"} {
		if strings.Contains(out.String(), nonsense) {
			t.Errorf("%s is printed:\n%s", nonsense, out.String())
		}
	}
}

// Of a recording that is cut off anywhere, the whole rows are read.
func TestRecordingCutAnywhere(t *testing.T) {
	text := mustGood(t)
	head := strings.Join(strings.SplitAfter(text, "\n")[:3], "")
	text = text[:len(head)+400]
	for cut := range text {
		rec, err := input.Read(strings.NewReader(text[:cut]), "sent.csv")
		if cut < len(head) {
			var at *input.FileError
			if !errors.As(err, &at) || at.Line != 1+strings.Count(text[:cut], "\n") {
				t.Errorf("cut behind byte %d: %v", cut, err)
			}
			continue
		}
		if err != nil {
			t.Errorf("cut behind byte %d: %v", cut, err)
			continue
		}
		whole := strings.LastIndex(text[:cut], "\n") + 1
		if rows := strings.Count(text[len(head):cut], "\n"); rec.Rows() != rows || rec.DroppedBytes != cut-whole {
			t.Errorf("cut behind byte %d: %d rows and %d bytes dropped, want %d and %d", cut, rec.Rows(), rec.DroppedBytes, rows, cut-whole)
		}
	}
}

// A bit that fell over gives a recording of as many rows or an error that says
// where: never fewer rows in silence.
func TestRecordingWithAnyBitFlipped(t *testing.T) {
	text := mustGood(t)
	head := strings.Join(strings.SplitAfter(text, "\n")[:3], "")
	text = text[:strings.Index(text[len(head)+300:], "\n")+len(head)+301]
	rows := strings.Count(text[len(head):], "\n")
	errs := 0
	for i := 0; i < 8*len(text); i += 3 { // in every byte, and each bit of some
		flipped := []byte(text)
		flipped[i/8] ^= 1 << (i % 8)
		rec, err := input.Read(bytes.NewReader(flipped), "sent.csv")
		if err != nil {
			errs++
			var at *input.FileError
			if !errors.As(err, &at) || at.Line < 1 || at.Line > 3+rows {
				t.Errorf("bit %d of byte %d: %v", i%8, i/8, err)
			}
			continue
		}
		if got := rec.Rows() + len(rec.Comments); got != rows && i/8 != len(text)-1 {
			t.Errorf("bit %d of byte %d: %d rows and comments, want %d", i%8, i/8, got, rows)
		}
	}
	if errs < len(text)/3 {
		t.Errorf("only %d of %d flips are noticed", errs, 8*len(text)/3)
	}
}

// The commands end with status 1, one line that says why, and write nothing.
func TestCommandsRefuseBadRecordings(t *testing.T) {
	text := mustGood(t)
	parts := strings.SplitAfter(text, "\n")
	good := file{parts[0], parts[1], parts[2], parts[3 : len(parts)-1]}
	for i, c := range []badRecording{brokenHeads[0], brokenHeads[len(brokenHeads)/2], brokenHeads[len(brokenHeads)-1], brokenRows[0], brokenRows[len(brokenRows)-1]} {
		folder := t.TempDir()
		path := filepath.Join(folder, "sent.csv")
		if err := os.WriteFile(path, []byte(c.spoil(good)), 0o600); err != nil {
			t.Fatal(err)
		}
		result := filepath.Join(folder, "result")
		for _, args := range [][]string{
			{"measure", path}, {"measure", path, "--json"}, {"measure", path, "--sheet", result},
			{"propose", path, "-o", result}, {"measure", path, path, "--change"},
		} {
			var out, errs bytes.Buffer
			status := run(args, &out, &errs)
			if status != exitFailed || out.Len() > 0 || !strings.Contains(errs.String(), "sent.csv") || strings.Count(errs.String(), "\n") != 1 {
				t.Errorf("%d %s: %s ends with %d, prints %q and says %q", i, c.name, args[0], status, out.String(), errs.String())
			}
			if left, _ := os.ReadDir(folder); len(left) != 1 {
				t.Errorf("%s: %v is left behind", c.name, left)
			}
		}
	}
}

// What a file says of itself is shown, but does not steer the terminal.
func TestNamesDoNotSteerTheTerminal(t *testing.T) {
	const says = `x\u001b[2J\u009b2J\u007f\u0007`
	text := strings.Replace(mustGood(t), "Example", says, 1) + `# {"at_us":0,"event":"unplugged","device":"` + says + `"}` + "\n"
	folder := t.TempDir()
	path, profile := filepath.Join(folder, "sent.csv"), filepath.Join(folder, "profile.json")
	if err := os.WriteFile(path, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, args := range [][]string{
		{"measure", path}, {"measure", path, "--json"}, {"propose", path, "-o", profile}, {"export", profile},
		{"compare", profile + "#" + "\x1b[2J", "-o", filepath.Join(folder, "c.svg")},
	} {
		var out, errs bytes.Buffer
		run(args, &out, &errs)
		shown := out.String() + errs.String()
		for _, r := range shown {
			if unicode.IsControl(r) && r != '\n' && r != '\t' {
				t.Errorf("%v prints %q", args[0], r)
			}
		}
		if args[0] != "export" && !strings.Contains(shown, `\u001b[2J`) && !strings.Contains(shown, `\x1b[2J`) {
			t.Errorf("%v does not show what the name is:\n%s", args[0], shown)
		}
		if len(args) == 3 && args[2] == "--json" && !json.Valid(out.Bytes()) {
			t.Error("the JSON is none any more")
		}
	}
}
