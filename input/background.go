package input

import (
	"fmt"
	"sync/atomic"
	"time"
)

// FlushWriter is a RowWriter that may hold rows back until Flush; Writer is
// one.
type FlushWriter interface {
	RowWriter
	Flush() error
}

// Background hands rows to a FlushWriter on a goroutine of its own, so that a
// slow disk never delays the next sample. Rows wait in a ring of fixed size;
// when that is full, rows are lost, and counted, rather than the sampling held
// up or memory filled. The row that follows lost ones says so in an event.
//
// Write and Close are for one goroutine. At most holdBack passes before a row
// is on its way to the file, if the disk takes it.
type Background struct {
	w    FlushWriter
	sync func() error // nil: none

	ring       []Row        // with slices of their own
	head, tail atomic.Int64 // rows written into the ring, and taken out
	failed     atomic.Pointer[error]

	lost, lostNow int // all, and since the last row that was kept
	stop, stopped chan struct{}
	flushed       chan struct{} // asks for a sync
	synced        chan struct{}
}

const (
	drainEvery = 50 * time.Millisecond
	// holdBack is how long a row may wait beside the ring before it is flushed.
	holdBack = 250 * time.Millisecond
	// syncEvery is how often the disk is asked to make sure of what it has. A
	// power cut loses what came since, and while it did so.
	syncEvery = time.Second

	// ringSeconds of rows wait for a disk that is busy with something else,
	// within bounds for very slow and very fast recordings.
	ringSeconds      = 30
	minRing, maxRing = 1 << 10, 1 << 17
)

// NewBackground starts handing rows to w, at about rateHz. sync, if not nil, is
// called about once a second on a goroutine of its own, after rows were
// flushed. Close must be called.
func NewBackground(w FlushWriter, rateHz float64, sync func() error) *Background {
	return newBackground(w, min(max(int(ringSeconds*rateHz), minRing), maxRing), sync)
}

func newBackground(w FlushWriter, rows int, sync func() error) *Background {
	b := &Background{w: w, sync: sync, ring: make([]Row, rows),
		stop: make(chan struct{}), stopped: make(chan struct{}),
		flushed: make(chan struct{}, 1), synced: make(chan struct{})}
	go b.drainAll()
	go b.syncAll()
	return b
}

// Write takes a copy of the row. The error is one that w or sync has made with
// an earlier row.
func (b *Background) Write(row Row) error {
	if err := b.failed.Load(); err != nil {
		return *err
	}
	head := b.head.Load()
	if head-b.tail.Load() == int64(len(b.ring)) {
		b.lost++
		b.lostNow++
		return nil
	}
	to := &b.ring[head%int64(len(b.ring))]
	to.AtUS, to.Phase = row.AtUS, row.Phase
	to.Counts = append(to.Counts[:0], row.Counts...)
	to.Present = append(to.Present[:0], row.Present...)
	if row.Present == nil {
		to.Present = nil
	}
	to.Extra = append(to.Extra[:0], row.Extra...)
	to.Comments = append(to.Comments[:0], row.Comments...)
	if b.lostNow > 0 {
		to.Comments = append(to.Comments, Event{AtUS: row.AtUS, Kind: LostRows, Rows: b.lostNow}.comment())
		b.lostNow = 0
	}
	b.head.Store(head + 1)
	return nil
}

// Lost is how many rows found the ring full.
func (b *Background) Lost() int { return b.lost }

// Close hands over what still waits and returns the first error there was. It
// does not close w.
func (b *Background) Close() error {
	close(b.stop)
	<-b.stopped
	<-b.synced
	if err := b.failed.Load(); err != nil {
		return *err
	}
	return nil
}

func (b *Background) fail(err error) { b.failed.CompareAndSwap(nil, &err) }

// drainAll empties the ring again and again. It looks by itself, so that the
// sampling thread need not wake anybody.
func (b *Background) drainAll() {
	defer close(b.stopped)
	defer close(b.flushed)
	// A panic here would end the program past everything that the recording
	// thread has to put back.
	defer func() {
		if p := recover(); p != nil {
			b.fail(fmt.Errorf("writing the recording failed: %v; this is a fault of the program", p))
		}
	}()
	look := time.NewTicker(drainEvery)
	defer look.Stop()
	flushedAt := time.Now()
	for ending := false; !ending; {
		select {
		case <-look.C:
		case <-b.stop:
			ending = true
		}
		if !b.drain() {
			return
		}
		if !ending && time.Since(flushedAt) < holdBack {
			continue
		}
		flushedAt = time.Now()
		if err := b.w.Flush(); err != nil {
			b.fail(err)
			return
		}
		select {
		case b.flushed <- struct{}{}:
		default:
		}
	}
}

// drain hands over what waits; false after an error.
func (b *Background) drain() bool {
	for b.tail.Load() < b.head.Load() {
		tail := b.tail.Load()
		if err := b.w.Write(b.ring[tail%int64(len(b.ring))]); err != nil {
			b.fail(err)
			return false
		}
		b.tail.Store(tail + 1)
	}
	return true
}

// syncAll asks the disk to make sure of what was flushed.
func (b *Background) syncAll() {
	defer close(b.synced)
	var last time.Time
	for range b.flushed {
		if b.sync == nil {
			continue
		}
		if wait := syncEvery - time.Since(last); wait > 0 {
			select {
			case <-time.After(wait):
			case <-b.stop:
			}
		}
		last = time.Now()
		if err := b.sync(); err != nil {
			b.fail(fmt.Errorf("the disk has not kept the recording: %w", err))
		}
	}
}
