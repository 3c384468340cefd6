package input

import (
	"bufio"
	"fmt"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// Read in blocks of any size a recording is what it is line by line, with the
// same first error at the same place.
func TestBlocksReadAsLinesDo(t *testing.T) {
	head := "# halfstick recording 1\n" +
		`# {"started":"2026-11-25T10:00:00Z","rate_hz":500,"source":"test","devices":[{"id":"d","name":"n","guid":"","axes":[{"label":"a","index":0,"kind":"two-sided"},{"label":"b","index":1,"kind":"two-sided"}]}]}` +
		"\nt_us,phase,d.a,d.b\n"
	read := func(text string, rows func(*reader) error) (*Recording, error) {
		d := &reader{in: bufio.NewReader(strings.NewReader(text)), name: "test.csv", rowParser: rowParser{phases: map[string]Phase{}}}
		if err := d.readHead(); err != nil {
			return nil, err
		}
		err := rows(d)
		return d.to.Recording(), err
	}
	cells := rapid.SampledFrom([]string{"1", "-7", "32767", "-32768", "", "1", "1", "1", "0", "007"})
	odd := rapid.SampledFrom([]string{"1,,2\n", "0,,1,2\n", "5,rest,1,2,3\n", "5,nap,1,2\n", "x,,1,2\n", "-3,,1,2\n", "7,,40000,1\n", "7,,1.5,1\n", "\n",
		"999,\"rest\",1,\"2\"\n", "999,rest,1,2\r\n", "# a comment\n", "# \xff\n", "9,\"rest,1,2\n", strings.Repeat("9", 40) + ",,1,2\n"})
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		b.WriteString(head)
		at := 0
		for range rapid.IntRange(0, 40).Draw(t, "lines") {
			if rapid.IntRange(0, 30).Draw(t, "is odd") == 0 {
				b.WriteString(odd.Draw(t, "odd"))
				continue
			}
			at += rapid.SampledFrom([]int{1000, 1000, 1000, 1}).Draw(t, "step")
			fmt.Fprintf(&b, "%d,%s,%s,%s\n", at, rapid.SampledFrom([]string{"", "", "rest", "sweep:a"}).Draw(t, "phase"), cells.Draw(t, "a"), cells.Draw(t, "b"))
		}
		text := b.String()
		text = text[:len(text)-min(len(text)-len(head), rapid.IntRange(0, 3).Draw(t, "cut"))]
		want, wantErr := read(text, (*reader).readRows)
		got, err := read(text, func(d *reader) error { return d.readBlocks(rapid.IntRange(1, 200).Draw(t, "bytes")) })
		if !reflect.DeepEqual(err, wantErr) {
			t.Fatalf("error %v, line by line %v", err, wantErr)
		}
		if err == nil && !reflect.DeepEqual(got, want) {
			t.Fatalf("got %+v\nwant %+v", got, want)
		}
	})
}
