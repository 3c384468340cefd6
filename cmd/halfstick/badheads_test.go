package main

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"fmt"
	"strings"
	"unicode/utf16"
)

func always(text string) func(file) string { return func(file) string { return text } }

func gzipped(f file) string {
	var b bytes.Buffer
	w := gzip.NewWriter(&b)
	_, _ = w.Write([]byte(f.text())) // into memory
	_ = w.Close()
	return b.String()
}

func inUTF16(order binary.ByteOrder, mark string) func(file) string {
	return func(f file) string {
		b := []byte(mark)
		for _, u := range utf16.Encode([]rune(f.text())) {
			two := make([]byte, 2)
			order.PutUint16(two, u)
			b = append(b, two...)
		}
		return string(b)
	}
}

// withColumns is the recording with another line of column names.
func withColumns(change func(names []string) string) func(file) string {
	return func(f file) string {
		f.columns = change(strings.Split(strings.TrimSuffix(f.columns, "\n"), ",")) + "\n"
		return f.text()
	}
}

// nested is JSON in so many lists.
func nested(depth int) string { return strings.Repeat("[", depth) + strings.Repeat("]", depth) }

// moreAxes is the recording with so many further axes in the header, and in the
// names and rows as well.
func moreAxes(n int) func(file) string {
	return func(f file) string {
		var axes, names strings.Builder
		for i := range n {
			fmt.Fprintf(&axes, `{"label":"more%d","index":%d,"kind":"two-sided"},`, i, 100+i)
			fmt.Fprintf(&names, ",pedals.more%d", i)
		}
		f.header = strings.Replace(f.header, `"axes":[`, `"axes":[`+axes.String(), 1)
		f.columns = strings.Replace(f.columns, ",phase", ",phase"+names.String(), 1)
		return eachRow(func(_ int, cells []string) []string {
			cells[1] += strings.Repeat(",7", n)
			return cells
		})(f)
	}
}

const tenMillion = 10_000_000

// brokenHeads are refused for what stands before the rows.
var brokenHeads = []badRecording{
	{name: "nothing", spoil: always(""), line: 1, says: "found an empty file; record again"},
	{name: "a byte order mark alone", spoil: always("\ufeff"), line: 1, says: "found the end of the file"},
	{name: "a picture", spoil: always("\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR"), line: 1, says: "found binary data"},
	{name: "a web page", spoil: always("<!DOCTYPE html>\n<html></html>\n"), line: 1, says: `found "<!DOCTYPE html>"; give a recording`},
	{name: "a profile", spoil: always(`{"format":"halfstick profile 1","axes":[]}` + "\n"), line: 1, says: "found JSON; a profile or a measurement is not a recording"},
	{name: "a table", spoil: always("# halfstick table\naxis,counts,position_percent,command_percent\n"), line: 1, says: `expected "# halfstick recording 1"`},
	{name: "gzip", spoil: gzipped, line: 1, says: "found a gzip file; unpack it first"},
	{name: "zip", spoil: func(f file) string { return "PK\x03\x04" + f.text() }, line: 1, says: "found a zip file; unpack it first"},
	{name: "UTF-16, little end first", spoil: inUTF16(binary.LittleEndian, "\xff\xfe"), line: 1, says: "found text in UTF-16; save the file as UTF-8"},
	{name: "UTF-16, big end first", spoil: inUTF16(binary.BigEndian, "\xfe\xff"), line: 1, says: "found text in UTF-16; save the file as UTF-8"},
	{name: "UTF-16 without its mark", spoil: inUTF16(binary.LittleEndian, ""), line: 1, says: "found binary data"},
	{name: "zeros of a broken disk", spoil: func(f file) string { return strings.Repeat("\x00", len(f.text())) }, line: 1, says: "found binary data"},
	{name: "one line of ten million characters", spoil: always(strings.Repeat("x", tenMillion)), line: 1, says: `found "xxx`},
	{name: "ten million characters behind the format", spoil: func(f file) string {
		return strings.TrimSuffix(f.magic, "\n") + strings.Repeat(" x", tenMillion/2) + "\n" + f.header
	}, line: 1, says: "use a newer halfstick"},
	{name: "a first line that never ends", spoil: always(strings.Repeat("# halfstick ", 2_000_000)), line: 1, says: "a line of at most 16777216 bytes"},
	{name: "ends of lines of an old system", spoil: everywhere("\n", "\r"), line: 1, says: `expected "# halfstick recording 1"`},
	{name: "cut in the first line", spoil: func(f file) string { return f.magic[:12] }, line: 1, says: "found the end of the file; the recording was cut off"},
	{name: "cut behind the first line", spoil: func(f file) string { return f.magic }, line: 2, says: "expected the header line, found the end of the file"},
	{name: "cut in the header", spoil: func(f file) string { return f.magic + f.header[:80] }, line: 2, says: "found the end of the file"},
	{name: "cut in the names", spoil: func(f file) string { return f.magic + f.header + f.columns[:20] }, line: 3, says: "found the end of the file"},
	{name: "no first line", spoil: func(f file) string { return f.header + f.columns + f.body() }, line: 1, says: `expected "# halfstick recording 1"`},
	{name: "an empty line first", spoil: func(f file) string { return "\n" + f.text() }, line: 1, says: `found ""`},
	{name: "a line of mail first", spoil: func(f file) string { return "> here it is:\n" + f.text() }, line: 1, says: `found "> here it is:"`},
	{name: "quoted in a mail", spoil: func(f file) string { return "> " + strings.ReplaceAll(f.text(), "\n", "\n> ") }, line: 1, says: `found "> # halfstick recording 1"`},
	{name: "a newer format", spoil: func(f file) string { return strings.Replace(f.text(), "recording 1", "recording 2", 1) }, line: 1, says: "use a newer halfstick"},
	{name: "another word", spoil: func(f file) string { return strings.Replace(f.text(), "recording 1", "measurement 1", 1) }, line: 1, says: `found "# halfstick measurement 1"`},
	{name: "capitals", spoil: func(f file) string { return strings.Replace(f.text(), "halfstick", "Halfstick", 1) }, line: 1, says: `found "# Halfstick recording 1"`},

	{name: "no header", spoil: func(f file) string { return f.magic + f.columns + f.body() }, line: 2, says: `the header as JSON behind "# "`},
	{name: "header without its sign", spoil: func(f file) string { return f.magic + f.header[2:] + f.columns + f.body() }, line: 2, says: "put the header line back"},
	{name: "header over many lines", spoil: inHeader(`"devices":`, "\n# "+`"devices":`), line: 2, says: "expected a JSON object"},
	{name: "header cut by a comma", spoil: inHeader(`,"devices"`, `"devices"`), line: 2, says: "at byte"},
	{name: "header with curly quotes", spoil: inHeader(`"rate_hz"`, `“rate_hz”`), line: 2, says: "invalid character"},
	{name: "header twice", spoil: func(f file) string { return f.magic + f.header + f.header[2:] + f.columns + f.body() }, line: 3, says: "expected quotes around a whole cell only"},
	{name: "header nested 10,001 deep", spoil: inHeader(`"rate_hz"`, `"deep":`+nested(10_001)+`,"rate_hz"`), line: 2, says: "exceeded max depth"},
	{name: "header nested a million deep", spoil: inHeader(`"rate_hz"`, `"deep":`+nested(1_000_000)+`,"rate_hz"`), line: 2, says: "exceeded max depth"},
	{name: "header of ten million characters that is none", spoil: inHeader(`"rate_hz"`, strings.Repeat("z", tenMillion)), line: 2, says: "expected a JSON object"},
	{name: "header of twenty million characters", spoil: inHeader(`"rate_hz"`, `"long":"`+strings.Repeat("z", 2*tenMillion)+`","rate_hz"`), line: 2, says: "a line of at most 16777216 bytes"},
	{name: "header in another coding", spoil: inHeader("Example", "Ex\xe4mple"), line: 2, says: "save the file as UTF-8"},
	{name: "rate not a number", spoil: inHeader(`"rate_hz":100`, `"rate_hz":NaN`), line: 2, says: "invalid character 'N'"},
	{name: "rate with a decimal comma", spoil: inHeader(`"rate_hz":100`, `"rate_hz":99,9`), line: 2, says: "expected a JSON object"},
	{name: "rate 0", spoil: inHeader(`"rate_hz":100`, `"rate_hz":0`), line: 2, says: "rate_hz: expected a number above 0, found 0"},
	{name: "rate beyond all numbers", spoil: inHeader(`"rate_hz":100`, `"rate_hz":1e400`), line: 2, says: `found "1e400"`},
	{name: "started at no time", spoil: inHeader("2026-11-25", "2026-13-25"), line: 2, says: "started: expected a time as in"},
	{name: "no devices", spoil: inHeader(`"devices":`, `"gadgets":`), line: 2, says: "devices: expected a list of devices, found nothing"},
	{name: "label twice", spoil: inHeader(`"left-brake"`, `"right-brake"`), line: 2, says: `expected a name used once in the recording, found "right-brake"`},
	{name: "index twice", spoil: inHeader(`"index":1`, `"index":0`), line: 2, says: "axes[1].index: expected an index from 0 that no other axis"},
	{name: "index below 0", spoil: inHeader(`"index":1`, `"index":-1`), line: 2, says: "found -1"},
	{name: "index beyond all numbers", spoil: inHeader(`"index":1`, `"index":99999999999999999999`), line: 2, says: "expected a whole number"},
	{name: "unknown kind", spoil: inHeader(`"two-sided"`, `"three-sided"`), line: 2, says: `kind: expected "two-sided" or "one-sided"`},
	{name: "label that would move the cursor", spoil: inHeader(`"rudder"`, `"\u001b[2Jrudder"`), line: 2, says: `found "\x1b[2Jrudder"`},
	{name: "label longer than any", spoil: inHeader(`"rudder"`, `"`+strings.Repeat("r", 65)+`"`), line: 2, says: "1 to 64 letters"},
	{name: "thousands of axes", spoil: moreAxes(3000), line: 2, says: "devices: expected at most 256 axes, found 3003"},

	{name: "tabs", spoil: everywhere(",", "\t"), line: 2, says: "expected a JSON object"},
	{name: "tabs in the table", spoil: func(f file) string { return f.magic + f.header + strings.ReplaceAll(f.columns+f.body(), ",", "\t") }, line: 3, says: "commas, not tabs"},
	{name: "semicolons in the table", spoil: func(f file) string { return f.magic + f.header + strings.ReplaceAll(f.columns+f.body(), ",", ";") }, line: 3, says: "commas, not semicolons"},
	{name: "no names", spoil: func(f file) string { return f.magic + f.header + f.body() }, line: 3, says: `expected the column t_us, found "0"`},
	{name: "names swapped", spoil: withColumns(func(n []string) string { n[2], n[3] = n[3], n[2]; return strings.Join(n, ",") }), line: 3, says: `expected the column pedals.rudder, found "pedals.left-brake"`},
	{name: "time and phase swapped", spoil: withColumns(func(n []string) string { n[0], n[1] = n[1], n[0]; return strings.Join(n, ",") }), line: 3, says: `expected the column t_us, found "phase"`},
	{name: "a name missing", spoil: withColumns(func(n []string) string { return strings.Join(n[:4], ",") }), line: 3, says: "expected the column pedals.right-brake, found no name"},
	{name: "a name twice", spoil: withColumns(func(n []string) string { return strings.Join(append(n, n[2]), ",") }), line: 3, says: `a new name for column 6`},
	{name: "a name in another coding", spoil: withColumns(func(n []string) string { return strings.Join(n, ",") + ",pr\xfcfung" }), line: 3, says: "expected UTF-8"},
	{name: "thousands of columns without a name", spoil: withColumns(func(n []string) string { return strings.Join(n, ",") + strings.Repeat(",", 5000) }), line: 3, says: "a new name for column 6, found no name"},
	{name: "names that never end", spoil: func(f file) string { return f.magic + f.header + strings.Repeat("t_us,", 4_000_000) }, line: 3, says: "a line of at most"},
}
