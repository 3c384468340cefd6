//go:build linux

package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"golang.org/x/sys/unix"

	"halfstick/input"
	"halfstick/input/sdl"
)

// recordSteps records src by the machine's clock.
func recordSteps(path string, src input.Source, rateHz float64, lasts time.Duration) (input.Sampling, error) {
	return recordTo(context.Background(), outFile{path: path}, src, input.NewHeader(src, time.Now(), rateHz),
		input.RecordOptions{RateHz: rateHz, For: lasts})
}

// A disk that fills up ends the recording with a message that says so, and
// leaves a file that can be read.
func TestFullDisk(t *testing.T) {
	dir := t.TempDir()
	if err := unix.Mount("tmpfs", dir, "tmpfs", 0, "size=32k"); err != nil {
		t.Skipf("this needs the right to mount a small file system: %v", err)
	}
	defer func() {
		if err := unix.Unmount(dir, 0); err != nil {
			t.Error(err)
		}
	}()
	for name, record := range map[string]func(string, input.Source) (input.Sampling, error){
		"jump": func(path string, src input.Source) (input.Sampling, error) {
			return recordTo(context.Background(), outFile{path: path}, src, input.NewHeader(src, time.Now(), 1000),
				input.RecordOptions{RateHz: 1000, For: time.Minute, Clock: &input.JumpClock{}})
		},
		"system": func(path string, src input.Source) (input.Sampling, error) {
			return recordSteps(path, src, 20_000, time.Minute)
		},
	} {
		path := filepath.Join(dir, name+".csv")
		stats, err := record(path, &stepper{})
		if !errors.Is(err, syscall.ENOSPC) || !strings.Contains(err.Error(), "make room there") || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: the error is %v", name, err)
		}
		if stats.Rows >= 60_000 {
			t.Errorf("%s: recorded on after the disk was full", name)
		}
		rec, err := input.Open(path)
		if err != nil || rec.Rows() < 1000 {
			t.Fatalf("%s: the file cannot be read: %v, %+v", name, err, rec)
		}
		for i := range rec.Rows() {
			if counts := rec.Columns[0].At(i); counts != int16(i) {
				t.Fatalf("%s: row %d has %d counts", name, i, counts)
			}
		}
		if err := os.Remove(path); err != nil {
			t.Fatal(err)
		}
	}
}

// A recording without a row leaves no file; a device file that it was to go
// into stays.
func TestRecordingThatCannotBegin(t *testing.T) {
	full := filepath.Join(t.TempDir(), "full")
	const charDevice, numbers = unix.S_IFCHR | 0o600, 1<<8 | 7 // as /dev/full; null(4)
	if err := unix.Mknod(full, charDevice, numbers); err != nil {
		t.Skipf("this needs the right to make a device file: %v", err)
	}
	record := func(path string, src input.Source) error {
		_, err := recordTo(context.Background(), outFile{path: path, force: true}, src,
			input.NewHeader(src, time.Now(), 100), input.RecordOptions{RateHz: 100, For: time.Second, Clock: &input.JumpClock{}})
		return err
	}
	if err := record(full, &stepper{}); !errors.Is(err, syscall.ENOSPC) {
		t.Errorf("recording into a full device gives %v", err)
	}
	if _, err := os.Lstat(full); err != nil {
		t.Error("the device file was taken away")
	}
	broken := errors.New("broken")
	none := filepath.Join(filepath.Dir(full), "none.csv")
	if err := record(none, &stepper{onPoll: func(int) error { return broken }}); !errors.Is(err, broken) {
		t.Errorf("recording from a broken source gives %v", err)
	}
	if _, err := os.Lstat(none); !os.IsNotExist(err) {
		t.Errorf("a recording without a row was left: %v", err)
	}
}

const victimFile = "HALFSTICK_TEST_VICTIM"

// TestVictim records until it is killed, and says on standard output when it
// takes which sample; see TestKilledRecording.
func TestVictim(t *testing.T) {
	path := os.Getenv(victimFile)
	if path == "" {
		t.Skip("runs as the process that TestKilledRecording kills")
	}
	src := &stepper{}
	src.onPoll = func(poll int) error {
		fmt.Fprintf(os.Stdout, "sample %d\n", poll)
		return nil
	}
	if _, err := recordSteps(path, src, 500, 0); err != nil {
		t.Fatal(err)
	}
}

// A kill at any moment loses at most the last second.
func TestKilledRecording(t *testing.T) {
	const rateHz = 500
	for _, samples := range []int{700, 850} { // in the middle of a flush's period or not
		path := filepath.Join(t.TempDir(), "killed.csv")
		victim := exec.Command(os.Args[0], "-test.run=^TestVictim$", "-test.count=1")
		victim.Env = append(os.Environ(), victimFile+"="+path)
		says, err := victim.StdoutPipe()
		if err != nil {
			t.Fatal(err)
		}
		if err := victim.Start(); err != nil {
			t.Fatal(err)
		}
		last := -1
		for lines := bufio.NewScanner(says); lines.Scan(); {
			number, ok := strings.CutPrefix(lines.Text(), "sample ")
			if !ok {
				continue
			}
			if last, err = strconv.Atoi(number); err != nil {
				t.Fatal(err)
			}
			if last == samples {
				if err := victim.Process.Kill(); err != nil {
					t.Fatal(err)
				}
			}
		}
		_ = victim.Wait() // it was killed
		rec, err := input.Open(path)
		if err != nil {
			t.Fatal(err)
		}
		if last < samples || last+1-rec.Rows() > rateHz {
			t.Errorf("of %d samples the file has %d; want at most a second less, %d", last+1, rec.Rows(), rateHz)
		}
		t.Logf("of %d samples the file has %d", last+1, rec.Rows())
		for i := range rec.Rows() {
			if counts := rec.Columns[0].At(i); counts != int16(i) {
				t.Fatalf("row %d has %d counts", i, counts)
			}
		}
	}
}

// What was sampled how evenly stands at the end of the file, and measure shows
// it.
func TestSamplingIsKeptInTheFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pedals.csv")
	stats, err := recordSteps(path, &stepper{}, 500, 200*time.Millisecond)
	if err != nil {
		t.Fatal(err)
	}
	rec, err := input.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	kept := rec.Samplings()
	if len(kept) != 1 || kept[0].Rows != rec.Rows() || kept[0].IntervalMS != stats.IntervalMS || *kept[0].CPUPercent != *stats.CPUPercent {
		t.Errorf("the file keeps %+v, want %+v", kept, stats)
	}
	var out, errs strings.Builder
	if status := run([]string{"measure", path}, &out, &errs); status != exitDone || !strings.Contains(out.String(), "of 500 Hz; interval") {
		t.Errorf("measure ends with %d and prints\n%s%s", status, out.String(), errs.String())
	}
}

// Whatever ends a recording, its source is closed, which puts the system's
// filter back.
func TestSourceIsClosedHoweverARecordingEnds(t *testing.T) {
	broken := errors.New("broken")
	for name, c := range map[string]struct {
		onPoll func(stop func()) error
		lasts  time.Duration // where nothing else ends it; enough for five polls on a machine that stalls
		want   error
		panics bool
	}{
		"by itself": {onPoll: func(func()) error { return nil }, lasts: 50 * time.Millisecond},
		"signal":    {onPoll: func(stop func()) error { stop(); return nil }, lasts: time.Minute},
		"error":     {onPoll: func(func()) error { return broken }, lasts: time.Minute, want: broken},
		"panic":     {onPoll: func(func()) error { panic("on purpose") }, lasts: time.Minute, panics: true},
	} {
		t.Run(name, func(t *testing.T) {
			ctx, stop := context.WithCancel(context.Background())
			defer stop()
			src := &stepper{}
			src.onPoll = func(poll int) error {
				if poll < 5 {
					return nil
				}
				return c.onPoll(stop)
			}
			r := recordFlags{file: outFile{path: filepath.Join(t.TempDir(), "pedals.csv")}, rateHz: 500, lasts: c.lasts}
			defer func() {
				if p := recover(); (p != nil) != c.panics {
					t.Errorf("panic %v", p)
				}
				if !src.closed {
					t.Error("the source was not closed")
				}
			}()
			err := r.recordDevices(ctx, io.Discard, func(sdl.Options) (input.Source, error) { return src, nil })
			if !errors.Is(err, c.want) {
				t.Errorf("the error is %v, want %v", err, c.want)
			}
		})
	}
}

func TestEventsAreTold(t *testing.T) {
	src := noticing{&stepper{}, map[int]input.Event{
		2: {Kind: input.Unplugged, Device: "pedals"}, 4: {Kind: input.Plugged, Device: "pedals"},
	}}
	var errs strings.Builder
	r := recordFlags{file: outFile{path: filepath.Join(t.TempDir(), "pedals.csv")}, rateHz: 500, lasts: 500 * time.Millisecond}
	if err := r.recordDevices(context.Background(), &errs, func(sdl.Options) (input.Source, error) { return src, nil }); err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(errs.String(), "\n")
	if len(lines) < 3 || !strings.Contains(lines[0], "pedals was unplugged") || !strings.Contains(lines[1], "pedals is back") {
		t.Errorf("the terminal shows\n%s", errs.String())
	}
}
