package main

import (
	"encoding/json"
	"io"
	"os"
	"runtime/pprof"
	"time"

	"halfstick/fit/measure"
	"halfstick/fit/propose"
	"halfstick/input"
)

// stages is how long the parts of the job took, in seconds.
type stages struct {
	Read    float64 `json:"read_s"`
	Measure float64 `json:"measure_s"`
	Propose float64 `json:"propose_s"`
	Axes    int     `json:"axes"`
}

// runStages reads, measures and proposes, and writes how long each took as
// JSON; profile is where a processor profile goes, "" for none.
func runStages(w io.Writer, path, profile string) error {
	if profile != "" {
		f, err := os.Create(profile)
		if err != nil {
			return err
		}
		defer f.Close()
		if err := pprof.StartCPUProfile(f); err != nil {
			return err
		}
		defer pprof.StopCPUProfile()
	}
	var s stages
	start := time.Now()
	lap := func(to *float64) {
		now := time.Now()
		*to = now.Sub(start).Seconds()
		start = now
	}
	rec, err := input.Open(path)
	if err != nil {
		return err
	}
	lap(&s.Read)
	m, err := measure.Recording(rec, path)
	if err != nil {
		return err
	}
	lap(&s.Measure)
	p, err := propose.Axes([]*input.Recording{rec}, []*measure.Measurement{m}, propose.Defaults())
	if err != nil {
		return err
	}
	lap(&s.Propose)
	s.Axes = len(p.Axes)
	return json.NewEncoder(w).Encode(s)
}
