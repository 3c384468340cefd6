package input

import (
	"math"
	"math/bits"
	"time"
)

// Histogram counts intervals of whole microseconds in bins that are one
// microsecond wide below 4096 µs and at most 1/2048 of the interval above, so
// that a day of them fits into half a megabyte. Its zero value is empty.
type Histogram struct {
	bins  []uint32
	count int
	max   int64
}

// binBits sets the bins' relative width.
const binBits = 12

// Add counts an interval; below 0 it counts as 0.
func (h *Histogram) Add(us int64) {
	us = max(us, 0)
	bin := binOf(us)
	if bin >= len(h.bins) {
		h.bins = append(h.bins, make([]uint32, bin+1-len(h.bins))...)
	}
	h.bins[bin]++
	h.count++
	h.max = max(h.max, us)
}

func binOf(us int64) int {
	shift := max(0, bits.Len64(uint64(us))-binBits)
	return shift<<(binBits-1) + int(us>>shift)
}

// lowest is the shortest interval of a bin.
func lowest(bin int) int64 {
	shift := max(0, bin>>(binBits-1)-1)
	return int64(bin-shift<<(binBits-1)) << shift
}

// Quantile is the nearest-rank quantile for 0 < p ≤ 1, rounded down to the bin;
// 0 if the histogram is empty.
func (h *Histogram) Quantile(p float64) time.Duration {
	rank := max(1, int(math.Ceil(p*float64(h.count))))
	if rank >= h.count {
		return h.Max()
	}
	bin, passed := 0, int(h.bins[0])
	for passed < rank {
		bin++
		passed += int(h.bins[bin])
	}
	return time.Duration(lowest(bin)) * time.Microsecond
}

// Max is the longest interval, exactly.
func (h *Histogram) Max() time.Duration { return time.Duration(h.max) * time.Microsecond }
