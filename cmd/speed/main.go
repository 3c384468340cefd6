// Command speed times halfstick on a long recording of the simulated rig, with
// the limits beside: cat of the file, a bare parse of its integers, and a
// script that computes the same quantities with numpy, scipy and pandas. Each
// runs as a program of its own, one after the other, so that peak memory is its
// own and times can be held against each other; compare within one run only.
//
// The recording goes to a temporary folder and is deleted.
package main

import (
	"flag"
	"fmt"
	"os"
)

type flags struct {
	hours           float64
	unlabelled      bool
	halfstick, peer string
	write, parse    string
	stages, profile string
}

func main() {
	var f flags
	flag.Float64Var(&f.hours, "hours", 1, "length of the recording")
	flag.BoolVar(&f.unlabelled, "unlabelled", false, "leave the phases out, so that they must be found from the data")
	flag.StringVar(&f.halfstick, "halfstick", "./halfstick", "the program to time")
	flag.StringVar(&f.peer, "peer", "testdata/reference/peer.py", "the script that computes the same with numpy, scipy and pandas; empty leaves it out")
	flag.StringVar(&f.write, "write", "", "only write the recording to `FILE`")
	flag.StringVar(&f.parse, "parse", "", "only add up the integers of `FILE`")
	flag.StringVar(&f.stages, "stages", "", "only read, measure and propose from `FILE`, and print the seconds of each")
	flag.StringVar(&f.profile, "profile", "", "with -stages, write a processor profile to `FILE`")
	flag.Parse()
	if err := f.run(); err != nil {
		fmt.Fprintln(os.Stderr, "speed:", err)
		os.Exit(1)
	}
}

func (f flags) run() error {
	switch {
	case !(f.hours > 0 && f.hours <= 24):
		return fmt.Errorf("%g hours; take more than 0, up to 24", f.hours)
	case f.write != "":
		return writeRecording(f.write, f.hours, !f.unlabelled)
	case f.parse != "":
		sum, err := parseIntegers(f.parse)
		fmt.Println(sum)
		return err
	case f.stages != "":
		return runStages(os.Stdout, f.stages, f.profile)
	}
	return f.compare()
}
