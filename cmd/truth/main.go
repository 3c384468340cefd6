// Command truth holds the measurements of fit/measure against simulated devices
// of known truth and writes a report: for each quantity bias, error and the
// coverage of its interval, for each finding recall and false alarms.
//
// Data passes one way: a device is drawn from the space of devices (space.go),
// simulated and recorded into memory (record.go), measured, and held against
// what it really is (truths.go, compare.go); its deadband is held against a
// fresh session of the same device (deadband.go), what is proposed for a flight
// (pilot.go) against its limits and hours of the same flying (proposal.go);
// outcomes are summed up (tally.go) and written (report.go, goals.go). Device i of a seed is always the same,
// however many workers there are.
package main

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"runtime"
	"slices"
	"strings"
	"sync"
	"time"

	"github.com/natefinch/atomic"
)

func main() {
	devices := flag.Int("devices", 2000, "how many devices to simulate")
	seed := flag.Uint64("seed", 1, "seed of the run")
	out := flag.String("o", "testdata/truth.md", "file to write the report to; empty for none")
	only := flag.String("only", "", "make only devices with this one fault, or only healthy or mixed ones")
	every := flag.Int("sessions", 4, "hold the deadbands of one device in so many against a session; 0 for none")
	fly := flag.Int("flights", 4, "fly one device in so many and look at its proposals; 0 for none")
	missed := flag.Bool("missed", false, "list what was missed and what was a false alarm, by device")
	flag.Parse()
	r := series{devices: *devices, seed: *seed, only: *only, sessions: sessions{minutes: 60, every: *every}, flights: flights{hours: 10, every: *fly}}
	if err := truth(r, *out, *missed); err != nil {
		fmt.Fprintln(os.Stderr, "truth:", err)
		os.Exit(1)
	}
}

// series is which devices are simulated.
type series struct {
	devices  int
	seed     uint64
	only     string // what each device is made to be; empty for the mixture of the report
	sessions sessions
	flights  flights
}

func truth(s series, out string, missed bool) error {
	if s.devices < 1 {
		return fmt.Errorf("%d devices; simulate at least one", s.devices)
	}
	if s.only != "" && !slices.Contains(append(faults, healthy, mixed), s.only) {
		return fmt.Errorf("no device is made to be %q; one is %s, %s or %s", s.only, healthy, mixed, strings.Join(faults, ", "))
	}
	all, err := runAll(s, func(done int) {
		fmt.Fprintf(os.Stderr, "\r%d of %d devices", done, s.devices)
	})
	fmt.Fprintln(os.Stderr)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := report(&b, all, s, time.Now()); err != nil {
		return err
	}
	if _, err := os.Stdout.Write(b.Bytes()); err != nil {
		return err
	}
	if missed {
		fmt.Print(mistakes(all))
	}
	if out == "" {
		return nil
	}
	return atomic.WriteFile(out, &b)
}

// runAll runs the devices of a series on every core; progress is told of each.
func runAll(s series, progress func(done int)) ([]outcome, error) {
	out := make([]outcome, s.devices)
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
				o, err := s.run(i)
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
	for i := range s.devices {
		next <- i
	}
	close(next)
	wg.Wait()
	return out, failed
}
