//go:build linux

package main

import (
	"bytes"
	"errors"
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"sync/atomic"
	"time"

	"golang.org/x/sys/unix"

	"halfstick/input/devicetest/hid"
)

// feeder is one controller and where its axes are.
type feeder struct {
	device hid.Device
	kernel *os.File    // nil while it is unplugged
	open   atomic.Bool // somebody holds the device open

	rateHz float64
	count  int   // reports that counted so far
	at     []int // the codes without noise
	noise  int   // ± codes
	random *rand.Rand
	sent   bytes.Buffer
}

func newFeeder(device hid.Device) *feeder {
	f := &feeder{device: device, rateHz: 125, random: rand.New(rand.NewPCG(1, 2))}
	for _, axis := range device.Axes {
		f.at = append(f.at, (axis.Max()+1)/2)
	}
	return f
}

// do carries out one line.
func (f *feeder) do(line string) error {
	words := strings.Fields(line)
	if len(words) == 0 {
		return nil
	}
	arguments := words[1:]
	takes := map[string]int{"plug": 0, "unplug": 0, "await": 0, "rate": 1, "count": 1, "still": 2, "move": 3, "save": 1}
	want, known := takes[words[0]]
	if !known {
		return errors.New("unknown command")
	}
	if len(arguments) != want {
		return fmt.Errorf("wants %d arguments", want)
	}
	switch words[0] {
	case "plug":
		return f.plug()
	case "unplug":
		return f.unplug()
	case "await":
		return f.await()
	case "rate":
		return f.setRate(arguments[0])
	case "count":
		return f.timed(arguments[0], func(float64) { f.countOn() })
	case "still":
		return f.still(arguments[0], arguments[1])
	case "move":
		return f.move(arguments[0], arguments[1], arguments[2])
	default:
		return f.save(arguments[0])
	}
}

func (f *feeder) plug() error {
	if f.kernel != nil {
		return errors.New("it is plugged in")
	}
	// O_RDWR without the runtime's poller: reads and writes then block, which
	// is what the two loops want.
	fd, err := unix.Open("/dev/uhid", unix.O_RDWR|unix.O_CLOEXEC, 0)
	if err != nil {
		return fmt.Errorf("/dev/uhid: %w", err)
	}
	f.kernel = os.NewFile(uintptr(fd), "/dev/uhid")
	go f.listen(f.kernel)
	_, err = f.kernel.Write(f.device.Create())
	return err
}

func (f *feeder) unplug() error {
	if f.kernel == nil {
		return nil
	}
	_, err := f.kernel.Write(hid.Destroy())
	f.open.Store(false)
	f.kernel = nil
	return err
}

// listen follows what the kernel says about the device until it is unplugged.
func (f *feeder) listen(kernel *os.File) {
	defer kernel.Close()
	event := make([]byte, hid.UHIDEventSize)
	for {
		n, err := kernel.Read(event)
		if err != nil {
			return
		}
		switch kind, _ := hid.EventType(event[:n]); kind {
		case hid.UHIDOpen:
			f.open.Store(true)
		case hid.UHIDClose:
			f.open.Store(false)
		case hid.UHIDStop:
			return
		}
		if refusal := hid.Refusal(event[:n]); refusal != nil {
			if _, err := kernel.Write(refusal); err != nil {
				return
			}
		}
	}
}

func (f *feeder) await() error {
	deadline := time.Now().Add(30 * time.Second)
	for !f.open.Load() {
		if time.Now().After(deadline) {
			return errors.New("nobody opens the device")
		}
		time.Sleep(time.Millisecond)
	}
	return nil
}

// countOn moves every axis to where the next counting report has it.
func (f *feeder) countOn() {
	f.noise = 0
	copy(f.at, hid.Count(f.device, f.count))
	f.count++
}

func (f *feeder) setRate(text string) error {
	hz, err := strconv.ParseFloat(text, 64)
	if err != nil || hz < 1 || hz > 1000 {
		return errors.New("a rate is a number from 1 to 1000")
	}
	f.rateHz = hz
	return nil
}

func (f *feeder) still(duration, noise string) error {
	n, err := strconv.Atoi(noise)
	if err != nil || n < 0 {
		return errors.New("noise is a whole number of codes")
	}
	f.noise = n
	return f.timed(duration, func(float64) {})
}

func (f *feeder) move(axis, code, duration string) error {
	i, err := f.device.Axis(axis)
	if err != nil {
		return err
	}
	to, err := strconv.Atoi(code)
	if err != nil || to < 0 || to > f.device.Axes[i].Max() {
		return fmt.Errorf("%s takes codes from 0 to %d", axis, f.device.Axes[i].Max())
	}
	from := f.at[i]
	return f.timed(duration, func(share float64) {
		f.at[i] = from + int(share*float64(to-from))
	})
}

// timed sends reports for a time, calling step with the share of the time that
// has passed, in (0, 1], before each.
func (f *feeder) timed(text string, step func(share float64)) error {
	duration, err := time.ParseDuration(text)
	if err != nil || duration <= 0 {
		return errors.New("a duration is written like 1.5s")
	}
	if f.kernel == nil {
		return errors.New("it is not plugged in")
	}
	period := time.Duration(float64(time.Second) / f.rateHz)
	start := monotonic()
	for next := start + period; next <= start+duration; next = max(next+period, monotonic()) {
		// After a gap the reports go on from now: a device does not send
		// those that it missed.
		sleepUntil(next)
		step(float64(next-start) / float64(duration))
		if err := f.send(); err != nil {
			return err
		}
	}
	step(1)
	return f.send()
}

// send hands one report to the kernel and writes it down, while somebody
// holds the device open.
func (f *feeder) send() error {
	if !f.open.Load() {
		return nil
	}
	codes := make([]int, len(f.at))
	for i, at := range f.at {
		codes[i] = at
		if f.noise > 0 {
			codes[i] += f.random.IntN(2*f.noise+1) - f.noise
		}
		codes[i] = min(max(codes[i], 0), f.device.Axes[i].Max())
	}
	before := monotonic()
	if _, err := f.kernel.Write(hid.Input(f.device.Report(codes))); err != nil {
		return fmt.Errorf("send a report: %w", err)
	}
	fmt.Fprintf(&f.sent, "%d,%d", int64(before), int64(monotonic()))
	for _, code := range codes {
		fmt.Fprintf(&f.sent, ",%d", code)
	}
	f.sent.WriteByte('\n')
	return nil
}

func (f *feeder) save(file string) error {
	defer f.sent.Reset()
	return os.WriteFile(file, f.sent.Bytes(), 0o644)
}

// monotonic is CLOCK_MONOTONIC, which the program under test goes by too.
func monotonic() time.Duration {
	var now unix.Timespec
	// Cannot fail: the clock exists and the pointer is good.
	_ = unix.ClockGettime(unix.CLOCK_MONOTONIC, &now)
	return time.Duration(now.Nano())
}

func sleepUntil(at time.Duration) {
	until := unix.NsecToTimespec(int64(at))
	for unix.ClockNanosleep(unix.CLOCK_MONOTONIC, unix.TIMER_ABSTIME, &until, nil) == unix.EINTR {
	}
}
