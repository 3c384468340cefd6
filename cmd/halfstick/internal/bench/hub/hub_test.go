package hub

import (
	"slices"
	"sync"
	"testing"

	"halfstick/input"
)

func write(t *testing.T, h *Hub, from, to int) {
	t.Helper()
	for i := from; i < to; i++ {
		row := input.Row{AtUS: int64(i), Counts: []int16{int16(i), int16(-i)}, Present: []bool{true, i%2 == 0}}
		if err := h.Write(row); err != nil {
			t.Fatal(err)
		}
	}
}

// A reader gets every row once, as it was written, and nothing when there is
// nothing new.
func TestReaderGetsEveryRowOnce(t *testing.T) {
	h := New(400)
	h.Reset(2)
	write(t, h, 0, 3)
	r := h.Reader() // begins with what is there
	var b Batch
	var at []int64
	for _, to := range []int{3, 300, 301} {
		if len(at) > 0 {
			write(t, h, len(at), to)
		}
		r.Next(&b)
		if b.Lost != 0 {
			t.Errorf("lost %d rows of a ring that is large enough", b.Lost)
		}
		for i, v := range b.AtUS {
			if b.Counts[2*i] != int16(v) || b.Counts[2*i+1] != int16(-v) {
				t.Errorf("row %d has the counts %v", v, b.Counts[2*i:2*i+2])
			}
			if !b.Present[2*i] || b.Present[2*i+1] != (v%2 == 0) {
				t.Errorf("row %d has the presence %v", v, b.Present[2*i:2*i+2])
			}
		}
		at = append(at, b.AtUS...)
		if len(at) != to {
			t.Fatalf("%d rows of %d", len(at), to)
		}
	}
	if !slices.IsSorted(at) {
		t.Error("rows out of order")
	}
	if r.Next(&b); b.Rows() != 0 {
		t.Errorf("%d rows though nothing was written", b.Rows())
	}
}

// A reader that comes too late gets the newest rows and is told how many it
// missed; another is not affected.
func TestSlowReaderLosesRowsAlone(t *testing.T) {
	h := New(50)
	h.Reset(2)
	slow, quick := h.Reader(), h.Reader()
	var b Batch
	for i := range 12 {
		write(t, h, 10*i, 10*i+10)
		if quick.Next(&b); b.Rows() != 10 || b.Lost != 0 {
			t.Fatalf("the quick reader got %d rows and lost %d", b.Rows(), b.Lost)
		}
	}
	slow.Next(&b)
	if b.Lost != 70 || b.Rows() != 50 || b.AtUS[0] != 70 || b.AtUS[49] != 119 {
		t.Errorf("lost %d and got %d rows %v; want 70 lost and rows 70 to 119", b.Lost, b.Rows(), b.AtUS)
	}
}

// Rows of two rigs never share a batch, and a row that does not fit is refused.
func TestRigsAreKeptApart(t *testing.T) {
	h := New(50)
	h.Reset(2)
	r := h.Reader()
	write(t, h, 0, 5)
	h.Reset(1)
	if err := h.Write(input.Row{Counts: []int16{1, 2}}); err == nil {
		t.Error("a row of another rig was taken")
	}
	if err := h.Write(input.Row{AtUS: 7, Counts: []int16{9}}); err != nil {
		t.Fatal(err)
	}
	var b Batch
	r.Next(&b)
	if b.Axes != 1 || b.Rows() != 1 || b.AtUS[0] != 7 || b.Counts[0] != 9 || !b.Present[0] || b.Lost != 0 {
		t.Errorf("after the change of rig the reader got %+v", b)
	}
}

// Readers and the sampler at once; the race detector watches.
func TestManyReaders(t *testing.T) {
	h := New(1000)
	h.Reset(2)
	var wg sync.WaitGroup
	const rows = 5000
	for range 4 {
		r := h.Reader()
		wg.Go(func() {
			var b Batch
			for got, last := uint64(0), int64(-1); got < rows; {
				r.Next(&b)
				got += uint64(b.Rows()) + b.Lost
				for i, v := range b.AtUS {
					if v <= last || b.Counts[2*i] != int16(v) {
						t.Errorf("row %d after %d with counts %d", v, last, b.Counts[2*i])
						return
					}
					last = v
				}
			}
		})
	}
	write(t, h, 0, rows)
	wg.Wait()
}

func BenchmarkWriteWithReader(b *testing.B) {
	h := New(10_000)
	h.Reset(6)
	row := input.Row{Counts: make([]int16, 6)}
	r := h.Reader()
	var batch Batch
	for i := 0; b.Loop(); i++ {
		_ = h.Write(row)
		if i%8 == 0 {
			r.Next(&batch)
		}
	}
}
