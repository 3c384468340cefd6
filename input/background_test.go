package input

import (
	"errors"
	"reflect"
	"strings"
	"sync/atomic"
	"testing"
)

// gate is a FlushWriter that keeps rows, and waits in each Write until it is
// let go.
type gate struct {
	open    chan struct{}
	err     error
	rows    []Row
	flushes int
}

func (g *gate) Write(row Row) error {
	<-g.open
	if g.err != nil {
		return g.err
	}
	row.Counts = append([]int16(nil), row.Counts...)
	row.Comments = append([]string(nil), row.Comments...)
	g.rows = append(g.rows, row)
	return nil
}

func (g *gate) Flush() error { g.flushes++; return nil }

// A disk that takes nothing for a while delays no row. What does not fit is
// lost, counted, and said before the row that follows.
func TestSlowDiskHoldsNothingUp(t *testing.T) {
	g := &gate{open: make(chan struct{})}
	b := newBackground(g, 8, nil)
	row := Row{Counts: []int16{0}, Present: []bool{true}, Phase: Phase{Kind: Rest}}
	write := func(from, to int64) {
		for row.AtUS = from; row.AtUS < to; row.AtUS++ {
			row.Counts[0] = int16(row.AtUS)
			if err := b.Write(row); err != nil {
				t.Fatal(err)
			}
		}
	}
	write(0, 100) // would never end if it waited for the gate
	if b.Lost() != 92 {
		t.Errorf("%d rows are lost, want 92 of 100", b.Lost())
	}
	close(g.open)
	for b.tail.Load() < 8 {
	}
	row.Comments = []string{"own"}
	write(100, 102)
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	var at []int64
	for _, row := range g.rows {
		at = append(at, row.AtUS)
		if row.Counts[0] != int16(row.AtUS) || row.Phase.Kind != Rest {
			t.Errorf("row %d has %v, %s", row.AtUS, row.Counts, row.Phase)
		}
	}
	if want := []int64{0, 1, 2, 3, 4, 5, 6, 7, 100, 101}; !reflect.DeepEqual(at, want) {
		t.Errorf("rows %v, want %v", at, want)
	}
	if want := []string{"own", ` {"at_us":100,"event":"lost-rows","rows":92}`}; !reflect.DeepEqual(g.rows[8].Comments, want) {
		t.Errorf("the row after those lost has comments %q, want %q", g.rows[8].Comments, want)
	}
	if got := g.rows[9].Comments; len(got) != 1 {
		t.Errorf("the row after that has comments %q", got)
	}
	if g.flushes == 0 {
		t.Error("nothing was flushed")
	}
}

func TestBackgroundReportsFaults(t *testing.T) {
	full := errors.New("full")
	for name, b := range map[string]*Background{
		"write": newBackground(&gate{open: closed(), err: full}, 8, nil),
		"sync":  newBackground(&gate{open: closed()}, 8, func() error { return full }),
	} {
		for b.failed.Load() == nil {
			if err := b.Write(Row{}); err != nil && !errors.Is(err, full) {
				t.Fatalf("%s: %v", name, err)
			}
		}
		if err := b.Write(Row{}); !errors.Is(err, full) {
			t.Errorf("%s: the next row gives %v", name, err)
		}
		if err := b.Close(); !errors.Is(err, full) {
			t.Errorf("%s: closing gives %v", name, err)
		}
	}
}

// A panic on the writing goroutine would leave everything behind as it is; as
// an error it ends the recording the ordinary way.
func TestPanicBehindTheQueueIsAnError(t *testing.T) {
	b := newBackground(nil, 8, nil)
	if err := b.Write(Row{}); err != nil {
		t.Fatal(err)
	}
	if err := b.Close(); err == nil || !strings.Contains(err.Error(), "fault of the program") {
		t.Errorf("closing gives %v", err)
	}
}

func TestBackgroundSyncsWhatItFlushed(t *testing.T) {
	var synced atomic.Int32
	g := &gate{open: closed()}
	b := newBackground(g, 8, func() error { synced.Add(1); return nil })
	if err := b.Write(Row{}); err != nil {
		t.Fatal(err)
	}
	if err := b.Close(); err != nil || synced.Load() == 0 || len(g.rows) != 1 {
		t.Errorf("closed with %v after %d syncs of %d rows", err, synced.Load(), len(g.rows))
	}
}

func closed() chan struct{} {
	c := make(chan struct{})
	close(c)
	return c
}
