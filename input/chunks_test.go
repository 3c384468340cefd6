package input

import "testing"

// Every value stays where it was put, whatever comes after it, and a short list
// takes no more than it needs.
func TestChunksKeepEveryValue(t *testing.T) {
	var c chunks[int]
	const most = 3*chunkLen + 5
	for i := range most {
		if c.len() != i {
			t.Fatalf("%d values, want %d", c.len(), i)
		}
		c.append(i)
		if i == 9 && cap(c.list[0]) > chunkLen/8 {
			t.Errorf("ten values take %d", cap(c.list[0]))
		}
	}
	for i := range most {
		*c.at(i) += 7
	}
	for i := range most {
		if got := *c.at(i); got != i+7 {
			t.Fatalf("value %d is %d, want %d", i, got, i+7)
		}
	}
}

// Columns and times are exact over more rows than one chunk holds, added one by one
// and joined to others.
func TestManyRowsAreKept(t *testing.T) {
	const rows = 2*chunkLen*wordRows + 100
	at := func(i int) int64 { return int64(i)*1000 + int64(i*i%17) }
	counts := func(i int) int16 { return int16(i / 3 * 7) }
	var times Times
	var c Column
	for from, to := 0, 0; from < rows; from = to {
		to = min(rows, from+rows/3)
		var moreTimes []int64
		var more Column
		for i := from; i < to; i++ {
			moreTimes = append(moreTimes, at(i))
			more.Append(counts(i), i%1000 != 0)
		}
		times.join(moreTimes)
		c.join(more.Len(), more.counts.lists(), more.there.lists())
	}
	for range 50 {
		times.Append(at(times.Len()))
		c.Append(counts(c.Len()), c.Len()%1000 != 0)
	}
	for i := range times.Len() {
		want := counts(i)
		if i%1000 == 0 {
			want = 0
		}
		if times.At(i) != at(i) || c.At(i) != want || c.PresentAt(i) != (i%1000 != 0) {
			t.Fatalf("row %d: %d at %d, there %v; want %d at %d", i, c.At(i), times.At(i), c.PresentAt(i), want, at(i))
		}
	}
}
