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
	// OnEvent, if not nil, is told of what the file keeps as events.
	OnEvent func(Event)
}

const (
	// nap bounds how long the end of the context goes unnoticed.
	nap           = 100 * time.Millisecond
	progressEvery = 100 * time.Millisecond
	// sleepAtLeast is what a growth of the clocks' difference must come to
	// before it counts as the machine's sleep: clocks that are set in small
	// steps stay below it, and no machine sleeps and wakes in less.
	sleepAtLeast = 100 * time.Millisecond
	// heldUpFrom is the interval from which on a gap is noted as an event. What
	// is shorter shows in the statistics.
	heldUpFrom = time.Second
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
// While the machine is suspended, AtUS goes on where the clock can tell, so
// that the gap is as long in the file as it was; phases, opts.For and the
// statistics go by waking time. Such gaps, others of a second or more, and what
// a Watcher notices become comments of the row that came next, and opts.OnEvent
// is told.
//
// The error is one of the options, src or w; the rows written before it stay
// written, and the sampling tells of them.
func Record(ctx context.Context, src Source, w RowWriter, opts RecordOptions) (Sampling, error) {
	if !(opts.RateHz > 0 && opts.RateHz <= MaxRateHz) {
		return Sampling{}, fmt.Errorf("a rate of %g Hz is not possible; give one above 0 and at most %d", opts.RateHz, MaxRateHz)
	}
	if opts.For < 0 {
		return Sampling{}, fmt.Errorf("a recording of %v is not possible; give a duration above 0", opts.For)
	}
	runtime.LockOSThread()
	defer runtime.UnlockOSThread()
	defer sharpenTimer()()

	r := newRecorder(src, w, opts)
	err := r.run(ctx)
	return r.sampling(), err
}

type recorder struct {
	src      Source
	w        RowWriter
	opts     RecordOptions
	clock    Clock
	start    time.Duration
	cpuStart time.Duration

	row               Row
	first, last       time.Duration // instants of rows, waking time
	intervals, errors Histogram
	rows, late        int
	nextProgress      time.Duration

	slept      time.Duration // since the start
	sleptFirst time.Duration // what the clock said of sleep first
	sleepKnown bool
}

func newRecorder(src Source, w RowWriter, opts RecordOptions) *recorder {
	r := &recorder{src: src, w: w, opts: opts, clock: opts.Clock}
	if r.clock == nil {
		r.clock = SystemClock()
	}
	n := axisCount(src.Devices())
	r.row = Row{Counts: make([]int16, n), Present: make([]bool, n)}
	r.cpuStart, _ = processorTime()
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
	woken := r.noticeSleep()
	if err := r.src.Poll(r.row.Counts, r.row.Present); err != nil {
		return fmt.Errorf("the devices cannot be read: %w", err)
	}
	r.row.AtUS = at.Microseconds() + r.slept.Microseconds()
	r.row.Comments = r.row.Comments[:0]
	r.noteGaps(at, woken)
	if watcher, ok := r.src.(Watcher); ok {
		for _, e := range watcher.Events() {
			r.note(e)
		}
	}
	if r.opts.PhaseAt != nil {
		r.row.Phase = r.opts.PhaseAt(at)
	}
	if err := r.w.Write(r.row); err != nil {
		return err
	}
	r.count(at)
	r.progress(at, false)
	return nil
}

// noticeSleep returns how long the machine was suspended since the last row.
func (r *recorder) noticeSleep() time.Duration {
	s, ok := r.clock.(sleeper)
	if !ok {
		return 0
	}
	total, known := s.Suspended()
	if !known {
		return 0
	}
	if !r.sleepKnown {
		r.sleptFirst, r.sleepKnown = total, true
	}
	more := total - r.sleptFirst - r.slept
	if more < sleepAtLeast {
		return 0
	}
	r.slept += more
	return more
}

// noteGaps notes why the row at this instant stands far from the last.
func (r *recorder) noteGaps(at, slept time.Duration) {
	if slept > 0 {
		r.note(Event{Kind: Asleep, Seconds: round(slept.Seconds(), 1e3)})
	}
	gap := at - r.last
	if r.rows > 0 && gap >= heldUpFrom && gap.Seconds() > 2/r.opts.RateHz {
		r.note(Event{Kind: HeldUp, Seconds: round(gap.Seconds(), 1e3)})
	}
}

// note puts an event before the row that is about to be written.
func (r *recorder) note(e Event) {
	e.AtUS = r.row.AtUS
	r.row.Comments = append(r.row.Comments, e.comment())
	if r.opts.OnEvent != nil {
		r.opts.OnEvent(e)
	}
}

// count adds a row at an instant of waking time to the statistics.
func (r *recorder) count(at time.Duration) {
	if r.rows == 0 {
		r.first = at
	} else {
		// Whole microseconds, as the file has them.
		interval := at.Microseconds() - r.last.Microseconds()
		r.intervals.Add(interval)
		period := int64(math.Round(1e6 / r.opts.RateHz))
		r.errors.Add(max(interval-period, period-interval))
	}
	r.last = at
	r.rows++
}

func (r *recorder) progress(at time.Duration, last bool) {
	if r.opts.Progress == nil || !last && at < r.nextProgress {
		return
	}
	r.nextProgress = at + progressEvery
	r.opts.Progress(at, r.rows)
}
