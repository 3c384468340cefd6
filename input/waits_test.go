package input

import (
	"slices"
	"testing"

	"pgregory.net/rapid"
)

// The changes that come after a wait of so many rows, and how many there are of
// them, are those that looking at every row finds.
func TestWaitsAreTheChangesThatComeLate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var c Column
		var counts []int16
		for range rapid.IntRange(1, 40).Draw(t, "values") {
			v := rapid.Int16Range(0, 3).Draw(t, "counts")
			for range rapid.SampledFrom([]int{1, 1, 2, 3, 5, 62, 63, 64, 65, 66, 127, 128, 129, 300}).Draw(t, "rows") {
				c.Append(v, true)
				counts = append(counts, v)
			}
		}
		from := rapid.IntRange(0, len(counts)).Draw(t, "from")
		to := rapid.IntRange(0, len(counts)).Draw(t, "to")
		rows := rapid.SampledFrom([]int{0, 1, 2, 3, 4, 6, 63, 64, 65, 66, 129, 200}).Draw(t, "wait")
		changed := 0
		var want [][2]int
		last := 0
		for i := range counts {
			if i > 0 && counts[i] == counts[i-1] {
				continue
			}
			if i >= from && i < to {
				changed++
				if i > 0 && i-last >= rows {
					want = append(want, [2]int{i, last})
				}
			}
			last = i
		}
		if got := c.Changed(from, to); got != changed {
			t.Fatalf("%d changes from row %d to %d, want %d", got, from, to, changed)
		}
		var got [][2]int
		for i, last := range c.Waits(from, to, rows) {
			got = append(got, [2]int{i, last})
		}
		if !slices.Equal(got, want) {
			t.Fatalf("from row %d to %d, %d rows: changes and those before them %v, want %v", from, to, rows, got, want)
		}
	})
}

func TestWaitsEndWhenNoMoreAreAsked(t *testing.T) {
	var c Column
	for i := range int16(200) {
		c.Append(i, true)
	}
	for i := range c.Waits(0, 200, 1) {
		if i == 70 {
			break
		}
	}
}

// The widest of some rows is that of their differences, on lines and off them.
func TestWidestIsTheLongestOfAll(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var times Times
		at := int64(0)
		n := rapid.IntRange(0, 300).Draw(t, "rows")
		longest := rapid.SampledFrom([]int64{1010, 1100, 2000, 9000, 1 << 20, maxUS / 1000}).Draw(t, "longest")
		for range n {
			at += rapid.OneOf(rapid.Int64Range(990, 1010), rapid.Int64Range(min(longest, 1000), longest)).Draw(t, "step")
			times.Append(at)
		}
		from := rapid.IntRange(0, n).Draw(t, "from")
		to := rapid.IntRange(0, n).Draw(t, "to")
		want := int64(0)
		for i := from + 1; i < to; i++ {
			want = max(want, times.At(i)-times.At(i-1))
		}
		if got := times.Widest(from, to); got != want {
			t.Fatalf("%d µs, want %d", got, want)
		}
	})
}

// A pause between the last row of a line and the first of the next is seen too.
func TestWidestBetweenLines(t *testing.T) {
	for pause := 1; pause < 3*wordRows; pause++ {
		var times Times
		for i := range int64(3*wordRows + 5) {
			if i >= int64(pause) {
				i += 50
			}
			times.Append(1000 * i)
		}
		if got := times.Widest(0, times.Len()); got != 51_000 {
			t.Errorf("pause before row %d: %d µs, want 51000", pause, got)
		}
	}
}
