package input

import (
	"math"
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// A column gives back what it was given, however it is asked, and joined as
// well as in one.
func TestColumnKeepsEveryRow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) (c Column, counts []int16, there []bool) {
			for range rapid.IntRange(0, 12).Draw(t, name) {
				v, present := rapid.Int16().Draw(t, "counts"), rapid.IntRange(0, 3).Draw(t, "there") > 0
				for range rapid.SampledFrom([]int{1, 1, 2, 63, 64, 65, 200}).Draw(t, "rows") {
					c.Append(v, present)
					counts, there = append(counts, v), append(there, present)
				}
			}
			return c, counts, there
		}
		c, counts, there := draw("first")
		other, more, moreThere := draw("second")
		c.join(other.Len(), other.counts.lists(), other.there.lists())
		counts, there = append(counts, more...), append(there, moreThere...)
		if c.Len() != len(counts) {
			t.Fatalf("%d rows, want %d", c.Len(), len(counts))
		}
		from := rapid.IntRange(0, len(counts)).Draw(t, "from")
		to := rapid.IntRange(from, len(counts)).Draw(t, "to")
		present := make([]bool, len(counts))
		for a, b := range c.Present(from, to) {
			for i := a; i < b; i++ {
				present[i] = true
			}
		}
		var changed []int
		for i := range counts {
			if !there[i] {
				counts[i] = 0
			}
			if c.At(i) != counts[i] || c.PresentAt(i) != there[i] || present[i] != (there[i] && i >= from && i < to) {
				t.Fatalf("row %d: %d, there %v, in a run %v; want %d, %v", i, c.At(i), c.PresentAt(i), present[i], counts[i], there[i])
			}
			if i >= from && i < to && (i == from || counts[i] != counts[i-1]) {
				changed = append(changed, i)
			}
		}
		var got []int
		for i, v := range c.Changes(from, to) {
			got = append(got, i)
			if v != counts[i] {
				t.Fatalf("changed to %d in row %d, want %d", v, i, counts[i])
			}
		}
		if !slices.Equal(got, changed) {
			t.Fatalf("changes in rows %v, want %v", got, changed)
		}
	})
}

// Rows below and above their line are kept as well as those on it.
func TestTimesKeepAPause(t *testing.T) {
	for _, pause := range []int{1, 62} {
		var times Times
		at := int64(0)
		for i := range wordRows {
			if at++; i == pause {
				at += 10_000_000
			}
			times.Append(at)
		}
		if first, last := times.At(pause-1), times.At(pause); first != int64(pause) || last != int64(pause)+10_000_001 {
			t.Errorf("pause before row %d: rows at %d and %d", pause, first, last)
		}
	}
}

// A row that is off its line by as much as one or two bytes hold, or by a little
// more, is kept; on lines of a fit or another, each with its own.
func TestTimesKeepEveryDistance(t *testing.T) {
	var times Times
	var want []int64
	for _, off := range []int64{0, 127, 128, -128, -129, 1 << 20, 5, math.MaxInt16, math.MaxInt16 + 1, math.MinInt16, math.MinInt16 - 1, -7} {
		for k := range int64(wordRows) {
			at := int64(len(want)) * 1_000_000
			if k == 31 {
				at += off
			}
			times.Append(at)
			want = append(want, at)
		}
	}
	if near, far, whole := times.near.len(), times.far.len(), times.whole.len(); near != 5 || far != 4 || whole != 3 {
		t.Errorf("%d lines come near, %d less so, %d not at all; want 5, 4 and 3", near, far, whole)
	}
	for i, got := range times.All() {
		if got != want[i] {
			t.Fatalf("row %d at %d, want %d", i, got, want[i])
		}
	}
}

// Times are exact at an even rate, across pauses, and where nothing is even.
func TestTimesKeepEveryRow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var times Times
		var want []int64
		at := int64(0)
		for range rapid.IntRange(0, 300).Draw(t, "rows") {
			at += rapid.OneOf(rapid.Int64Range(995, 1005), rapid.Int64Range(900, 1100), rapid.Int64Range(1, 1<<20), rapid.Int64Range(1, maxUS/1000)).Draw(t, "step")
			times.Append(at)
			want = append(want, at)
		}
		if times.Len() != len(want) {
			t.Fatalf("%d rows, want %d", times.Len(), len(want))
		}
		for i, got := range times.All() {
			if got != want[i] {
				t.Fatalf("row %d at %d, want %d", i, got, want[i])
			}
		}
	})
}
