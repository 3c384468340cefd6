// Command truth holds the measurements of fit/measure against simulated devices
// of known truth and writes a report: for each quantity bias, error and the
// coverage of its interval, for each finding recall and false alarms.
//
// Data passes one way: a device is drawn from the space of devices (space.go),
// simulated and recorded into memory (record.go), measured, and held against
// what it really is (truths.go, compare.go); its deadband is held against a
// fresh session of the same device (deadband.go); outcomes are summed up
// (tally.go) and written (report.go, goals.go). Device i of a seed is always the same,
// however many workers there are.
package main

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"runtime"
	"sync"
	"time"

	"github.com/natefinch/atomic"
)

func main() {
	devices := flag.Int("devices", 2000, "how many devices to simulate")
	seed := flag.Uint64("seed", 1, "seed of the run")
	out := flag.String("o", "testdata/truth.md", "file to write the report to")
	flag.Parse()
	if err := truth(*devices, *seed, *out); err != nil {
		fmt.Fprintln(os.Stderr, "truth:", err)
		os.Exit(1)
	}
}

func truth(devices int, seed uint64, out string) error {
	if devices < 1 {
		return fmt.Errorf("%d devices; simulate at least one", devices)
	}
	all, err := runAll(devices, seed, sessions{minutes: 60, every: 4}, func(done int) {
		fmt.Fprintf(os.Stderr, "\r%d of %d devices", done, devices)
	})
	fmt.Fprintln(os.Stderr)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := report(&b, all, seed, time.Now()); err != nil {
		return err
	}
	if _, err := os.Stdout.Write(b.Bytes()); err != nil {
		return err
	}
	return atomic.WriteFile(out, &b)
}

// runAll runs devices 0 to n−1 on every core, the deadbands of some held against
// sessions; progress is told of each.
func runAll(n int, seed uint64, s sessions, progress func(done int)) ([]outcome, error) {
	out := make([]outcome, n)
	next := make(chan int)
	var (
		wg     sync.WaitGroup
		mu     sync.Mutex
		done   int
		failed error
	)
	for range runtime.GOMAXPROCS(0) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range next {
				o, err := run(seed, i, s)
				mu.Lock()
				out[i] = o
				done++
				if err != nil && failed == nil {
					failed = fmt.Errorf("device %d: %w", i, err)
				}
				progress(done)
				mu.Unlock()
			}
		}()
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
	return out, failed
}
