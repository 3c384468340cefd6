package main

import (
	"bytes"
	"fmt"
	"os/exec"
	"strings"
	"time"
)

// cost is what a program took to run.
type cost struct {
	wall, cpu time.Duration
	peak      int64 // bytes; 0 where the system does not tell
	out       string
}

// timed runs a program on its own and gives what it took.
func timed(name string, args ...string) (cost, error) {
	cmd := exec.Command(name, args...)
	var out, errs bytes.Buffer
	cmd.Stderr = &errs
	if name != "cat" {
		cmd.Stdout = &out
	}
	start := time.Now()
	err := cmd.Run()
	c := cost{wall: time.Since(start), out: out.String()}
	if err != nil {
		return c, fmt.Errorf("%s: %w: %s", strings.Join(cmd.Args, " "), err, strings.TrimSpace(errs.String()))
	}
	c.cpu = cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()
	c.peak = peakOf(cmd.ProcessState)
	return c, nil
}
