package input_test

import (
	"bytes"
	"compress/gzip"
	"errors"
	"fmt"
	"strings"
	"testing"
	"unicode/utf16"

	"halfstick/input"
)

// fault is a broken file and what must be said of it.
type fault struct {
	name, text string
	line       int
	path       string
	want       string // part of the whole message
}

func checkFaults(t *testing.T, faults []fault) {
	t.Helper()
	for _, f := range faults {
		t.Run(f.name, func(t *testing.T) {
			rec, err := input.Read(strings.NewReader(f.text), "worn.csv")
			var e *input.FileError
			if !errors.As(err, &e) {
				t.Fatalf("read %+v with error %v, want a FileError", rec, err)
			}
			if rec != nil {
				t.Error("a recording came with the error")
			}
			if e.File != "worn.csv" || e.Line != f.line || e.Path != f.path {
				t.Errorf("at %s:%d %q, want worn.csv:%d %q", e.File, e.Line, e.Path, f.line, f.path)
			}
			if e.Want == "" || e.Found == "" || e.Remedy == "" {
				t.Errorf("the error %+v does not say all of what was expected, found and to do", e)
			}
			message := err.Error()
			if !strings.HasPrefix(message, fmt.Sprintf("worn.csv:%d: ", f.line)) || !strings.Contains(message, f.want) {
				t.Errorf("says %q, want %q in it", message, f.want)
			}
			if strings.ContainsAny(message, "\n\x00") || len(message) > 400 {
				t.Errorf("%q is not one short line", message)
			}
		})
	}
}

func gzipped(text string) string {
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	w.Write([]byte(text))
	w.Close()
	return b.String()
}

func utf16LE(text string) string {
	b := []byte{0xff, 0xfe}
	for _, u := range utf16.Encode([]rune(text)) {
		b = append(b, byte(u), byte(u>>8))
	}
	return string(b)
}

func TestFaultsOfTheFile(t *testing.T) {
	names := strings.SplitAfter(head, "\n")
	magic, header, columns := names[0], names[1], names[2]
	swap := func(columns string) string { return magic + header + columns + "\n" + rows }
	checkFaults(t, []fault{
		{"empty", "", 1, "", "found an empty file; record again"},
		{"gzip", gzipped(head + rows), 1, "", "found a gzip file; unpack it first"},
		{"zip", "PK\x03\x04\x14\x00", 1, "", "found a zip file"},
		{"UTF-16", utf16LE(head + rows), 1, "", "found text in UTF-16; save the file as UTF-8"},
		{"binary", "\x7fELF\x02\x01\x00\x00\x00\n", 1, "", "found binary data"},
		{"JSON", `{"format":"halfstick profile 1"}`, 1, "", "found JSON; a profile or a measurement is not a recording"},
		{"no magic line", header + columns + rows, 1, "", `expected "# halfstick recording 1", found "# {`},
		{"an empty line first", "\n" + head, 1, "", `found ""; give a recording`},
		{"newer version", "# halfstick recording 2\n", 1, "", "use a newer halfstick"},
		{"cut in the first line", magic[:9], 1, "", "found the end of the file; the recording was cut off"},
		{"cut behind the first line", magic, 2, "", "expected the header line, found the end of the file"},
		{"cut in the header", magic + header[:30], 2, "", "expected the header line, found the end of the file"},
		{"cut in the column names", magic + header + columns[:9], 3, "", "expected the line of column names, found the end"},
		{"no header", magic + columns + rows, 2, "", `expected the header as JSON behind "# ", found "t_us`},
		{"other first column", swap("t,phase,pedals.rudder,pedals.left-brake"), 3, "", `expected the column t_us, found "t"`},
		{"no phase column", swap("t_us,pedals.rudder,pedals.left-brake"), 3, "", `expected the column phase, found "pedals.rudder"`},
		{"columns swapped", swap("t_us,phase,pedals.left-brake,pedals.rudder"), 3, "", `expected the column pedals.rudder, found "pedals.left-brake"`},
		{"column missing", swap("t_us,phase,pedals.rudder"), 3, "", "expected the column pedals.left-brake, found no name"},
		{"column named otherwise", swap("t_us,phase,pedals.ruder,pedals.left-brake"), 3, "", `expected the column pedals.rudder, found "pedals.left-brake"`},
		{"column twice", swap("t_us,phase,pedals.rudder,pedals.left-brake,pedals.rudder"), 3, "", `a new name for column 5, found "pedals.rudder"`},
		{"extra column twice", swap("t_us,phase,a,pedals.rudder,pedals.left-brake,a"), 3, "", `a new name for column 6, found "a"`},
		{"column without a name", swap("t_us,phase,pedals.rudder,pedals.left-brake,"), 3, "", "a new name for column 5, found no name"},
		{"quote in the names", swap(`t_us,phase,ped"als`), 3, "", "quotes around a whole cell only"},
		{"quotes left open in the names", swap(`t_us,phase,pedals.rudder,pedals.left-brake,"a`), 3, "", "expected the closing quote of cell 5"},
		{"names not UTF-8", swap("t_us,phase,pedals.rudder,pedals.left-brake,\xff"), 3, "", "expected UTF-8"},
	})
}

func TestFaultsOfRows(t *testing.T) {
	four := head + rows // rows are on lines 4 to 7
	wide := strings.Replace(head, "t_us,phase,", "t_us,phase,note,", 1)
	checkFaults(t, []fault{
		{"row short", four + "8000,rest,1\n", 8, "", "expected 4 cells, as many as columns, found 3"},
		{"row long", four + "8000,rest,1,2,3\n", 8, "", "found 5"},
		{"empty line", four + "\n", 8, "", "found an empty line"},
		{"count too high", four + "8000,rest,1,32768\n", 8, "", `pedals.left-brake as a whole number from -32768 to 32767, found "32768"`},
		{"count too low", four + "8000,rest,-32769,0\n", 8, "", `pedals.rudder as a whole number from -32768 to 32767, found "-32769"`},
		{"count far too high", four + "8000,rest,1,99999999999999999999\n", 8, "", "whole number from"},
		{"count that would wrap", four + "8000,rest,1,18446744073709551617\n", 8, "", "whole number from"},
		{"count with a point", four + "8000,rest,1.0,2\n", 8, "", `found "1.0"`},
		{"count with a space", four + "8000,rest, 1,2\n", 8, "", `found " 1"`},
		{"count with a plus", four + "8000,rest,+1,2\n", 8, "", `found "+1"`},
		{"minus alone", four + "8000,rest,-,2\n", 8, "", `found "-"`},
		{"words", four + "8000,rest,much,2\n", 8, "", `found "much"`},
		{"time going back", four + "5999,rest,1,2\n", 8, "", "expected t_us above the last row's 6000, found 5999"},
		{"time standing still", four + "6000,rest,1,2\n", 8, "", "found 6000"},
		{"time below 0", head + "-1,rest,1,2\n", 4, "", "expected t_us of 0 or more, found -1"},
		{"time with a point", four + "8000.5,rest,1,2\n", 8, "", "t_us as whole microseconds"},
		{"time empty", four + ",rest,1,2\n", 8, "", "t_us as whole microseconds"},
		{"time too large", four + "9223372036854775808,rest,1,2\n", 8, "", "t_us as whole microseconds"},
		{"comment that is not UTF-8", four + "# \xff\n" + "8000,rest,1,2\n", 8, "", "a comment on one line of UTF-8"},
		{"unknown phase", four + "8000,resting,1,2\n", 8, "", `expected a phase (rest, sweep, release-low`},
		{"phase in capitals", four + "8000,Rest,1,2\n", 8, "", `found "Rest"`},
		{"phase label without axis", four + "8000,sweep:aileron,1,2\n", 8, "", `about an axis of the recording, found "sweep:aileron"`},
		{"phase label empty", four + "8000,sweep:,1,2\n", 8, "", `found "sweep:"`},
		{"label without phase", four + "8000,:rudder,1,2\n", 8, "", `found ":rudder"`},
		{"quote inside a cell", four + "8000,rest,1\"2,2\n", 8, "", "quotes around a whole cell only"},
		{"text behind a quote", four + "8000,rest,\"1\"2,2\n", 8, "", "behind a closing quote"},
		{"quotes left open", head + "0,rest,\"1,2\n2000,rest,1,2\n", 4, "", "expected the closing quote of cell 3"},
		{"quotes left open behind the last column", head + "0,rest,1,2,\"3\n2000,rest,1,2\n", 4, "", "closing quote of cell 5"},
		{"fault behind lines in quotes", wide + "0,,\"a\nb\nc\",1,2\n2000,,,1,x\n", 7, "", `found "x"`},
		{"fault in a row of lines in quotes", wide + "0,,\"a\nb\nc\",1,x\n", 4, "", `found "x"`},
		{"quote behind lines in quotes", wide + "0,,\"a\nb\"c,1,2\n", 4, "", "behind a closing quote"},
		{"extra cell not UTF-8", wide + "0,,\xff,1,2\n", 4, "", "expected UTF-8"},
		{"fault after carriage returns", strings.ReplaceAll(four, "\n", "\r\n") + "8000,rest,1,x\r\n", 8, "", `found "x"`},
		{"found text cut short", four + "8000," + strings.Repeat("ä", 500) + ",1,2\n", 8, "", `ä"…`},
	})
}
