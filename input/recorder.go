package input

import (
	"context"
	"fmt"
	"math"
	"runtime"
	"time"
)

// MaxRateHz bounds the rate of a recording: hundred times what a USB device
// can report at.
const MaxRateHz = 100_000

// RecordOptions says how to record.
type RecordOptions struct {
	RateHz float64       // rows per second, above 0 and at most MaxRateHz
	For    time.Duration // how long; 0 means until the context is done
	// PhaseAt gives the phase at a time since the start; nil means no phase.
	PhaseAt func(t time.Duration) Phase
	Clock   Clock // nil means SystemClock
	// Progress, if not nil, is called about ten times a second of the clock
	// and at the end.
	Progress func(t time.Duration, rows int)
}

// RecordStats says how evenly a recording was made. The intervals are those
// between the instants of neighbouring rows; without two rows they are 0.
type RecordStats struct {
	Rows      int
	LateTicks int // ticks that were left out because half a period had passed
	P50, P99  time.Duration
	P999, Max time.Duration
}

const (
	// nap bounds how long the end of the context goes unnoticed.
	nap           = 100 * time.Millisecond
	progressEvery = 100 * time.Millisecond
)

// Record asks src for its state at RateHz and writes a row each time, until
// opts.For has passed or ctx is done, which is no error.
//
// Tick k is due at start + k/RateHz, however late the ticks before it were. A
// tick that cannot be taken before half a period has passed is left out and
// counted: rows are never bunched to catch up, and none is invented. A row's
// AtUS is the instant just before src was asked, from the start of the call, not
// the instant the tick was due. The thread is locked for the time of the call,
// and src is asked on no other.
//
// The error is one of the options, src or w; the rows written before it stay
// written, and the stats tell of them.
func Record(ctx context.Context, src Source, w RowWriter, opts RecordOptions) (RecordStats, error) {
	if !(opts.RateHz > 0 && opts.RateHz <= MaxRateHz) {
		return RecordStats{}, fmt.Errorf("a rate of %g Hz is not possible; give one above 0 and at most %d", opts.RateHz, MaxRateHz)
	}
	if opts.For < 0 {
		return RecordStats{}, fmt.Errorf("a recording of %v is not possible; give a duration above 0", opts.For)
	}
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	defer sharpenTimer()()

	r := newRecorder(src, w, opts)
	err := r.run(ctx)
	return r.stats(), err
}

type recorder struct {
	src   Source
	w     RowWriter
	opts  RecordOptions
	clock Clock
	start time.Duration

	row          Row
	intervals    Histogram
	rows, late   int
	nextProgress time.Duration
}

func newRecorder(src Source, w RowWriter, opts RecordOptions) *recorder {
	r := &recorder{src: src, w: w, opts: opts, clock: opts.Clock}
	if r.clock == nil {
		r.clock = SystemClock()
	}
	n := axisCount(src.Devices())
	r.row = Row{Counts: make([]int16, n), Present: make([]bool, n)}
	return r
}

func (r *recorder) run(ctx context.Context) error {
	r.start = r.clock.Now()
	defer func() { r.progress(r.clock.Now()-r.start, true) }()
	for tick := int64(0); ; {
		if !r.wanted(tick) || !r.sleep(ctx, r.due(tick)) {
			return nil
		}
		if err := r.take(); err != nil {
			return err
		}
		next := r.nextTick(tick)
		for tick++; tick < next && r.wanted(tick); tick++ {
			r.late++
		}
	}
}

// wanted reports whether a tick falls within the time to record.
func (r *recorder) wanted(tick int64) bool { return r.opts.For == 0 || r.due(tick) < r.opts.For }

// due is when a tick should be taken, from the start. Going by the number of
// the tick keeps the rounding of the period from adding up.
func (r *recorder) due(tick int64) time.Duration {
	return time.Duration(math.Round(float64(tick) * float64(time.Second) / r.opts.RateHz))
}

// nextTick is the first tick behind this one of which less than half a period
// has passed.
func (r *recorder) nextTick(tick int64) int64 {
	now := (r.clock.Now() - r.start).Seconds() * r.opts.RateHz
	return max(tick+1, int64(math.Floor(now-0.5))+1)
}

// sleep waits for an instant from the start, in naps; it reports false when ctx
// is done.
func (r *recorder) sleep(ctx context.Context, due time.Duration) bool {
	for {
		if ctx.Err() != nil {
			return false
		}
		now := r.clock.Now() - r.start
		if now >= due {
			return true
		}
		r.clock.SleepUntil(r.start + min(due, now+nap))
	}
}

// take writes one row.
func (r *recorder) take() error {
	at := r.clock.Now() - r.start
	if err := r.src.Poll(r.row.Counts, r.row.Present); err != nil {
		return fmt.Errorf("the devices cannot be read: %w", err)
	}
	before := r.row.AtUS
	r.row.AtUS = at.Microseconds()
	if r.opts.PhaseAt != nil {
		r.row.Phase = r.opts.PhaseAt(at)
	}
	if err := r.w.Write(r.row); err != nil {
		return err
	}
	if r.rows > 0 {
		r.intervals.Add(r.row.AtUS - before)
	}
	r.rows++
	r.progress(at, false)
	return nil
}

func (r *recorder) progress(at time.Duration, last bool) {
	if r.opts.Progress == nil || !last && at < r.nextProgress {
		return
	}
	r.nextProgress = at + progressEvery
	r.opts.Progress(at, r.rows)
}

func (r *recorder) stats() RecordStats {
	return RecordStats{
		Rows: r.rows, LateTicks: r.late,
		P50: r.intervals.Quantile(0.5), P99: r.intervals.Quantile(0.99),
		P999: r.intervals.Quantile(0.999), Max: r.intervals.Max(),
	}
}
