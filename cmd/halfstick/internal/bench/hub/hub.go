// Package hub stands between the sampler and the browsers. The sampler writes
// every row into one ring; each reader takes from it what has come since it
// last looked, at its own pace. A reader never holds the sampler up: one that
// comes too late has lost rows and is told how many.
//
// Data passes one way: input.Record → Hub.Write → ring → Reader.Next.
package hub

import (
	"fmt"
	"sync"

	"halfstick/input"
)

// chunk bounds how many rows a reader copies while it holds the lock that the
// sampler needs too.
const chunk = 128

// Hub is the ring of the newest rows. It is an input.RowWriter.
type Hub struct {
	mu   sync.Mutex
	ring []row
	axes int
	rig  uint64 // counts the rigs that have been read
	// first is the number of this rig's first row, next that of the row to
	// come. Row n lies in ring[n%len].
	first, next uint64
}

type row struct {
	atUS    int64
	counts  []int16
	present []bool
}

// New returns a hub that keeps the newest rows, size of them.
func New(size int) *Hub { return &Hub{ring: make([]row, size)} }

// Reset empties the ring for a rig of so many axes: its rows have other
// columns than those before. It returns the rig's number.
func (h *Hub) Reset(axes int) uint64 {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.axes = axes
	h.rig++
	h.first = h.next
	for i := range h.ring {
		h.ring[i] = row{counts: make([]int16, axes), present: make([]bool, axes)}
	}
	return h.rig
}

// Write puts a row into the ring, over the oldest.
func (h *Hub) Write(r input.Row) error {
	h.mu.Lock()
	defer h.mu.Unlock()
	if len(r.Counts) != h.axes {
		return fmt.Errorf("a row of %d axes for a rig of %d; reset the hub when the rig changes", len(r.Counts), h.axes)
	}
	to := &h.ring[h.next%uint64(len(h.ring))]
	to.atUS = r.AtUS
	copy(to.counts, r.Counts)
	for i := range to.present {
		to.present[i] = r.Present == nil || r.Present[i]
	}
	h.next++
	return nil
}

// oldest is the number of the oldest row that can still be read.
func (h *Hub) oldest() uint64 {
	if n := uint64(len(h.ring)); h.next > h.first+n {
		return h.next - n
	}
	return h.first
}

// Batch is a run of rows. Counts and Present hold Axes values a row, row after
// row.
type Batch struct {
	Rig     uint64 // another number, another rig
	Axes    int
	AtUS    []int64
	Counts  []int16
	Present []bool
	// Lost is how many rows of this rig went by unread before these.
	Lost uint64
}

// Rows is the number of rows.
func (b *Batch) Rows() int { return len(b.AtUS) }

// Reader takes rows from a hub, each once. It belongs to one goroutine.
type Reader struct {
	hub  *Hub
	rig  uint64
	next uint64
}

// Reader returns a reader that begins with the oldest row in the ring.
func (h *Hub) Reader() *Reader {
	h.mu.Lock()
	defer h.mu.Unlock()
	return &Reader{hub: h, rig: h.rig, next: h.oldest()}
}

// Next fills b with the rows since the last call, all of one rig.
func (r *Reader) Next(b *Batch) {
	b.AtUS, b.Counts, b.Present, b.Lost = b.AtUS[:0], b.Counts[:0], b.Present[:0], 0
	for first := true; r.take(b, first); first = false {
	}
}

// take appends at most a chunk and tells whether there is more of the same rig.
func (r *Reader) take(b *Batch, first bool) bool {
	h := r.hub
	h.mu.Lock()
	defer h.mu.Unlock()
	if r.rig != h.rig {
		if !first {
			return false // the new rig's rows are for the next batch
		}
		r.rig, r.next = h.rig, h.first
	}
	b.Rig, b.Axes = h.rig, h.axes
	if oldest := h.oldest(); r.next < oldest {
		b.Lost += oldest - r.next
		r.next = oldest
	}
	for end := min(h.next, r.next+chunk); r.next < end; r.next++ {
		from := &h.ring[r.next%uint64(len(h.ring))]
		b.AtUS = append(b.AtUS, from.atUS)
		b.Counts = append(b.Counts, from.counts...)
		b.Present = append(b.Present, from.present...)
	}
	return r.next < h.next
}
