package input

import (
	"bufio"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

const blocksHead = "# halfstick recording 1\n" +
	`# {"started":"2026-11-25T10:00:00Z","rate_hz":500,"source":"test","devices":[{"id":"d","name":"n","guid":"","axes":[{"label":"a","index":0,"kind":"two-sided"},{"label":"b","index":1,"kind":"two-sided"}]}]}` +
	"\nt_us,phase,d.a,d.b\n"

// readBy reads a recording, its rows by rows.
func readBy(text string, rows func(*reader) error) (*Recording, error) {
	d := &reader{in: bufio.NewReader(strings.NewReader(text)), name: "test.csv", rowParser: rowParser{phases: map[string]Phase{}}}
	if err := d.readHead(); err != nil {
		return nil, err
	}
	err := rows(d)
	return d.to.Recording(), err
}

// Read in blocks of any size a recording is what it is line by line, with the
// same first error at the same place.
func TestBlocksReadAsLinesDo(t *testing.T) {
	cells := rapid.SampledFrom([]string{"1", "-7", "32767", "-32768", "", "1", "1", "1", "0", "-0", "007", "00001", "000001"})
	// Each with the time in which it comes, but for the first ones.
	odd := rapid.SampledFrom([]string{"0,,1,2\n", "x,,1,2\n", "-3,,1,2\n", strings.Repeat("9", 40) + ",,1,2\n", "\n", "# a comment\n", "# \xff\n",
		"%d,,2\n", "%d,rest,1,2,3\n", "%d,,1,2x\n", "%d,nap,1,2\n", "%d,,40000,1\n", "%d,,1.5,1\n", "%d,,-,1\n", "%d,\"rest,1,2\n",
		"%d,32768,1\n", "%d,,-32769,1\n", "%d,,2\n3\n", "%d,,1,2\n%d,,1,2\n", "%d,,1,2,3\n", "%d,\"rest\",1,\"2\"\n", "%d,rest,1,2\r\n", "%d,,1,7\r\r\n",
		"1000000000000000,,1,2\n", "1000000000000001,,1,2\n"})
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		b.WriteString(blocksHead)
		at := 0
		for range rapid.IntRange(0, 40).Draw(t, "lines") {
			at += rapid.SampledFrom([]int{1000, 1000, 1000, 1}).Draw(t, "step")
			if rapid.IntRange(0, 15).Draw(t, "is odd") == 0 {
				b.WriteString(strings.ReplaceAll(odd.Draw(t, "odd"), "%d", fmt.Sprint(at)))
				continue
			}
			fmt.Fprintf(&b, "%d,%s,%s,%s\n", at, rapid.SampledFrom([]string{"", "", "rest", "sweep:a"}).Draw(t, "phase"), cells.Draw(t, "a"), cells.Draw(t, "b"))
		}
		text := b.String()
		if rapid.IntRange(0, 3).Draw(t, "carriage returns") == 0 {
			text = strings.ReplaceAll(text, "\n", "\r\n")
		}
		text = text[:len(text)-min(len(text)-len(blocksHead), rapid.IntRange(0, 3).Draw(t, "cut"))]
		want, wantErr := readBy(text, (*reader).readRows)
		got, err := readBy(text, func(d *reader) error {
			return d.readBlocks(rapid.SampledFrom([]int{1, 50, 300, 5000, 5000}).Draw(t, "bytes"))
		})
		if !reflect.DeepEqual(err, wantErr) {
			t.Fatalf("error %v, line by line %v", err, wantErr)
		}
		if err == nil && !reflect.DeepEqual(got, want) {
			t.Fatalf("got %+v\nwant %+v", got, want)
		}
	})
}

// An empty cell is no 0 in front of a carriage return either.
func TestAbsentAxisBeforeCarriageReturn(t *testing.T) {
	text := strings.ReplaceAll(blocksHead+"0,,1,1\n1000,,1,\n2000,,1,1\n3000,,1,1\n4000,,1,1\n", "\n", "\r\n")
	rec, err := readBy(text, func(d *reader) error { return d.readBlocks(blockBytes) })
	if err != nil {
		t.Fatal(err)
	}
	if b := rec.Columns[1]; b.Len() != 5 || !b.PresentAt(0) || b.PresentAt(1) || !b.PresentAt(2) {
		t.Errorf("%+v", b)
	}
}

// A row that only its time makes too long is so beside the one before as well.
func TestLongRowAfterOneOfTheRightLength(t *testing.T) {
	const columns = maxRow / wordBytes
	p := rowParser{check: rowCheck{columns: columns}, phases: map[string]Phase{}, row: newRow(columns, 0)}
	for i := range headCells + columns {
		p.axis = append(p.axis, i-headCells)
	}
	cells := ",," + strings.Repeat("0000000,", columns-1) + "0000\n"
	b := block{columns: make([]blockColumn, columns), text: []byte("8" + cells + "9" + cells + "10" + cells + "11" + cells)}
	newBlockParser(p).parse(&b)
	if len(cells) != maxRow-1 || len(b.times) != 2 || b.lines != 3 || b.bad == nil || b.bad.want != tooLong(maxRow).want {
		t.Errorf("rows of %d bytes: %d rows, %d lines, %v", len(cells)+1, len(b.times), b.lines, b.bad)
	}
}
