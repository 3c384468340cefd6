//go:build linux

// Command feeder is a controller: it makes a HID device through /dev/uhid and
// moves its axes as told on its standard input, a command a line. It answers
// each with the same line when it is done, so that a test can wait for it.
//
//	plug                 the device appears
//	unplug               it goes away, as when its cable is pulled
//	await                wait until somebody holds it open
//	rate HZ              how many reports a second; 125 at first
//	count DURATION       every report differs from all others; see hid.Count
//	still DURATION N     rest where it is, with noise of ±N codes on every axis
//	move AXIS CODE DURATION   move evenly to a code; noise goes on
//	save FILE            write what was sent since the last save
//
// Like a device on the USB it sends only while somebody holds it open. What
// it sent goes into the file as CSV: the nanoseconds of CLOCK_MONOTONIC before
// the report was handed to the kernel and after, then one code an axis. Once
// the kernel has taken a report, every program that looks finds it.
package main

import (
	"bufio"
	"flag"
	"fmt"
	"io"
	"os"
	"runtime"

	"golang.org/x/sys/unix"

	"halfstick/input/devicetest/hid"
)

func main() {
	if err := run(os.Args[1:], os.Stdin, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "feeder:", err)
		os.Exit(1)
	}
}

func run(args []string, in io.Reader, out io.Writer) error {
	flags := flag.NewFlagSet("feeder", flag.ContinueOnError)
	kind := flags.String("device", "stick", "stick, pedals or plain-pedals")
	uniq := flags.String("serial", "", "serial number")
	phys := flags.String("port", "", "where it is plugged in")
	if err := flags.Parse(args); err != nil {
		return err
	}
	device, err := hid.ByName(*kind)
	if err != nil {
		return err
	}
	device.Uniq = *uniq
	if *phys != "" {
		device.Phys = *phys
	}
	// The reports' instants matter: one thread, woken within a microsecond
	// instead of the usual fifty.
	runtime.LockOSThread()
	if err := unix.Prctl(unix.PR_SET_TIMERSLACK, 1, 0, 0, 0); err != nil {
		return fmt.Errorf("timer slack: %w", err)
	}
	f := newFeeder(device)
	defer f.unplug()
	for lines := bufio.NewScanner(in); lines.Scan(); {
		line := lines.Text()
		if err := f.do(line); err != nil {
			return fmt.Errorf("%q: %w", line, err)
		}
		fmt.Fprintln(out, line)
	}
	return nil
}
