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
	// Each with the time in which it comes, but for the first ones.
	odd := rapid.SampledFrom([]string{"0,,1,2\n", "x,,1,2\n", "-3,,1,2\n", strings.Repeat("9", 40) + ",,1,2\n", "\n", "# a comment\n", "# \xff\n",
		"%d,,2\n", "%d,rest,1,2,3\n", "%d,,1,2x\n", "%d,nap,1,2\n", "%d,,40000,1\n", "%d,,1.5,1\n", "%d,,-,1\n", "%d,\"rest,1,2\n",
		"%d,\"rest\",1,\"2\"\n", "%d,rest,1,2\r\n"})
	rapid.Check(t, func(t *rapid.T) {
		var b strings.Builder
		b.WriteString(head)
		at := 0
		for range rapid.IntRange(0, 40).Draw(t, "lines") {
			at += rapid.SampledFrom([]int{1000, 1000, 1000, 1}).Draw(t, "step")
			if rapid.IntRange(0, 15).Draw(t, "is odd") == 0 {
				b.WriteString(strings.Replace(odd.Draw(t, "odd"), "%d", fmt.Sprint(at), 1))
				continue
			}
			fmt.Fprintf(&b, "%d,%s,%s,%s\n", at, rapid.SampledFrom([]string{"", "", "rest", "sweep:a"}).Draw(t, "phase"), cells.Draw(t, "a"), cells.Draw(t, "b"))
		}
		text := b.String()
		text = text[:len(text)-min(len(text)-len(head), rapid.IntRange(0, 3).Draw(t, "cut"))]
		want, wantErr := read(text, (*reader).readRows)
		got, err := read(text, func(d *reader) error {
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
