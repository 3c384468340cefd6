package input_test

import (
	"bytes"
	"context"
	"errors"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"halfstick/input"
)

// scripted is a source whose state is a function of how often it was asked.
type scripted struct {
	polls int
	play  func(poll int, counts []int16, present []bool) error
}

func (s *scripted) Describe() string        { return "script" }
func (s *scripted) Devices() []input.Device { return exampleHeader().Devices }
func (s *scripted) Close() error            { return nil }

func (s *scripted) Poll(counts []int16, present []bool) error {
	s.polls++
	return s.play(s.polls-1, counts, present)
}

// counting gives the number of the poll as the first axis; the second axis has
// no report before the third poll, and says the same from then on.
func counting() *scripted {
	return &scripted{play: func(poll int, counts []int16, present []bool) error {
		counts[0], present[0] = int16(poll), true
		if poll == 2 {
			counts[1], present[1] = 77, true
		}
		return nil
	}}
}

// record records from src into memory.
func record(t *testing.T, src input.Source, opts input.RecordOptions) (*input.Recording, input.Sampling, error) {
	t.Helper()
	c, err := input.NewCollector(input.NewHeader(src, time.Now(), opts.RateHz))
	if err != nil {
		t.Fatal(err)
	}
	stats, err := input.Record(context.Background(), src, c, opts)
	return c.Recording(), stats, err
}

func TestRecordTakesEveryTick(t *testing.T) {
	var told []time.Duration
	rec, stats, err := record(t, counting(), input.RecordOptions{
		RateHz: 300, For: time.Second, Clock: &input.JumpClock{},
		PhaseAt: func(at time.Duration) input.Phase {
			if at < 500*time.Millisecond {
				return input.Phase{Kind: input.Rest}
			}
			return input.Phase{Kind: input.Sweep, Label: "rudder"}
		},
		Progress: func(at time.Duration, rows int) { told = append(told, at) },
	})
	if err != nil {
		t.Fatal(err)
	}
	want := input.Sampling{Rows: 300, AskedHz: 300, ReachedHz: 300,
		IntervalMS: input.Spread{P50: 3.333, P99: 3.334, P999: 3.334, Max: 3.334},
		ErrorMS:    input.Spread{P99: 0.001, P999: 0.001, Max: 0.001}}
	if stats != want {
		t.Errorf("stats %+v, want %+v", stats, want)
	}
	for i, at := range rec.Times.All() {
		// t_us is the whole microseconds of an instant that is due at i/300 s.
		if due := int64(i) * 1_000_000 / 300; at != due {
			t.Errorf("row %d at %d µs, want %d", i, at, due)
		}
		if rec.Columns[0].At(i) != int16(i) {
			t.Errorf("row %d has the counts of poll %d", i, rec.Columns[0].At(i))
		}
		if present := rec.Columns[1].PresentAt(i); present != (i >= 2) || present && rec.Columns[1].At(i) != 77 {
			t.Errorf("row %d of the second axis: %d, %v", i, rec.Columns[1].At(i), present)
		}
	}
	phases := []input.Stretch{
		{Phase: input.Phase{Kind: input.Rest}, From: 0, To: 150},
		{Phase: input.Phase{Kind: input.Sweep, Label: "rudder"}, From: 150, To: 300},
	}
	if !reflect.DeepEqual(rec.Stretches, phases) {
		t.Errorf("stretches %+v, want %+v", rec.Stretches, phases)
	}
	if len(told) < 10 || len(told) > 12 || told[len(told)-1] < 990*time.Millisecond {
		t.Errorf("progress was told at %v, want about ten times, and at the end", told)
	}
}

// slow is a source that sometimes takes long to answer.
func slow(clock *input.JumpClock, delays map[int]time.Duration) *scripted {
	s := counting()
	play := s.play
	s.play = func(poll int, counts []int16, present []bool) error {
		clock.Advance(delays[poll])
		return play(poll, counts, present)
	}
	return s
}

func TestRecordLeavesLateTicksOut(t *testing.T) {
	const ms = time.Millisecond
	clock := &input.JumpClock{}
	clock.Advance(time.Hour) // rows count from the start of the recording
	src := slow(clock, map[int]time.Duration{
		1: 14 * ms,  // from 10: done at 24, 20 is taken late, at 24
		3: 16 * ms,  // from 30: done at 46, 40 is left out
		4: 100 * ms, // from 50: done at 150, which is just on time
		5: 39 * ms,  // from 150: done at 189, 160 to 180 are left out; 190 is the end
	})
	rec, stats, err := record(t, src, input.RecordOptions{RateHz: 100, For: 190 * ms, Clock: clock})
	if err != nil {
		t.Fatal(err)
	}
	want := []int64{0, 10_000, 24_000, 30_000, 50_000, 150_000}
	if !reflect.DeepEqual(timesOf(rec), want) {
		t.Errorf("rows at %v, want %v", timesOf(rec), want)
	}
	// Left out: 40, 60 to 140, 160 to 180.
	if stats.Rows != 6 || stats.LateTicks != 1+9+3 || stats.IntervalMS.Max != 100 || stats.IntervalMS.P50 != 14 || stats.ErrorMS.Max != 90 {
		t.Errorf("stats %+v, want 6 rows, 13 late, 14 ms and 100 ms", stats)
	}
}

// When ticks come late again and again, rows stay at least half a period apart
// and the mean rate does not creep.
func TestRecordDoesNotBunchOrCreep(t *testing.T) {
	clock := &input.JumpClock{}
	delays := map[int]time.Duration{}
	for i := range 40_000 {
		delays[i] = time.Duration(i*i%1400) * time.Microsecond
	}
	rec, stats, err := record(t, slow(clock, delays), input.RecordOptions{RateHz: 1000, For: 30 * time.Second, Clock: clock})
	if err != nil {
		t.Fatal(err)
	}
	if stats.Rows+stats.LateTicks != 30_000 {
		t.Errorf("%d rows and %d late ticks do not make 30000", stats.Rows, stats.LateTicks)
	}
	if last := rec.Times.At(stats.Rows - 1); stats.LateTicks == 0 || last < 29_997_000 || last >= 29_999_500 {
		t.Errorf("%d late, the last row at %d µs; want some, and the last near tick 29999", stats.LateTicks, last)
	}
	for i := 1; i < rec.Rows(); i++ {
		if step := rec.Times.At(i) - rec.Times.At(i-1); step <= 500 {
			t.Fatalf("row %d is %d µs behind the last", i, step)
		}
	}
}

func TestRecordStopsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	src := counting()
	play := src.play
	src.play = func(poll int, counts []int16, present []bool) error {
		if poll == 41 {
			cancel()
		}
		return play(poll, counts, present)
	}
	var file bytes.Buffer
	w, err := input.NewWriter(&file, input.NewHeader(src, time.Now(), 0.01))
	if err != nil {
		t.Fatal(err)
	}
	stats, err := input.Record(ctx, src, w, input.RecordOptions{RateHz: 0.01, Clock: &input.JumpClock{}})
	if err != nil || stats.Rows != 42 || math.Round(stats.IntervalMS.P50/1000) != 100 {
		t.Errorf("%+v, %v; want 42 rows 100 s apart and no error", stats, err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	if rec := mustRead(t, file.String()); rec.Rows() != 42 || rec.Header.Source != "script" {
		t.Errorf("%d rows from %q in the file", rec.Rows(), rec.Header.Source)
	}
	stats, err = input.Record(ctx, src, w, input.RecordOptions{RateHz: 1})
	if err != nil || stats.Rows != 0 || stats.IntervalMS != (input.Spread{}) {
		t.Errorf("with a context that is done: %+v, %v", stats, err)
	}
}

// failing refuses rows from some number on.
type failing struct{ good int }

var errRefused = errors.New("refused")

func (f *failing) Write(input.Row) error {
	f.good--
	if f.good < 0 {
		return errRefused
	}
	return nil
}

func TestRecordReportsErrors(t *testing.T) {
	clock := &input.JumpClock{}
	opts := input.RecordOptions{RateHz: 100, For: time.Second, Clock: clock}
	stats, err := input.Record(context.Background(), counting(), &failing{good: 5}, opts)
	if !errors.Is(err, errRefused) || stats.Rows != 5 {
		t.Errorf("%v after %d rows, want that of the writer after 5", err, stats.Rows)
	}
	gone := errors.New("gone")
	broken := &scripted{play: func(poll int, _ []int16, _ []bool) error {
		if poll == 3 {
			return gone
		}
		return nil
	}}
	rec, stats, err := record(t, broken, opts)
	if !errors.Is(err, gone) || stats.Rows != 3 || rec.Rows() != 3 {
		t.Errorf("%v after %d rows, want that of the source after 3", err, stats.Rows)
	}
	if rec.Columns[0].PresentAt(0) {
		t.Error("an axis that the source did not report is present")
	}
	opts.PhaseAt = func(time.Duration) input.Phase { return input.Phase{Kind: input.Rest, Label: "roll"} }
	if _, _, err := record(t, counting(), opts); err == nil || !strings.Contains(err.Error(), "rest:roll") {
		t.Errorf("error %v does not name the phase", err)
	}
	for _, wrong := range []input.RecordOptions{
		{}, {RateHz: -1}, {RateHz: 1e6}, {RateHz: 100, For: -1},
	} {
		if _, err := input.Record(context.Background(), counting(), &failing{}, wrong); err == nil || errors.Is(err, errRefused) {
			t.Errorf("%+v: error %v, want one about the options", wrong, err)
		}
	}
}
