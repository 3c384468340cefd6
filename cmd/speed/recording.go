package main

import (
	"bufio"
	"math"
	"math/rand/v2"
	"os"
	"time"

	"halfstick/input"
	"halfstick/input/rig"
)

const (
	rowsHz = 1000
	lateUS = 20 // a row is so many microseconds early or late, as a recorder's are
	seed   = 1
)

// specs is the rig of the demo and a third device, eight axes in all.
func specs() []rig.DeviceSpec {
	return append(rig.DefaultSpecs(seed), rig.DeviceSpec{
		ID: "levers", Name: "Example Levers", ReportHz: 500,
		Axes: []rig.AxisSpec{{
			Label: "mixture", Kind: input.OneSided, Friction: 1, Damping: 2, Mass: 0.2,
			Bits: 12, Travel: rig.Travel{Low: 0.02, High: 0.97},
			White: 0.7, Wander: 0.3, WanderCorrelation: 0.8, DriftStepsPerMinute: 0.3,
		}},
	})
}

// writeRecording writes hours of a rig whose owner records every flight: the
// guided phases of all axes, then flights until the time is over. Without
// labels all of it is one unlabelled phase. It holds one row at a time.
func writeRecording(path string, hours float64, labelled bool) error {
	r, err := rig.New(specs(), seed)
	if err != nil {
		return err
	}
	plan := rig.FullPlan
	plan.FlySeconds = 0
	guided := r.PlannedScript(plan)
	plan.FlySeconds = math.Max(1, hours*3600-guided.Duration().Seconds())
	if err := r.SetScript(r.PlannedScript(plan)); err != nil {
		return err
	}
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer f.Close()
	buffered := bufio.NewWriterSize(f, 1<<20)
	out, err := input.NewWriter(buffered, input.Header{RateHz: rowsHz, Source: r.Describe(), Devices: r.Devices()})
	if err != nil {
		return err
	}
	if err := writeRows(out, r, hours, labelled); err != nil {
		return err
	}
	if err := out.Close(); err != nil {
		return err
	}
	if err := buffered.Flush(); err != nil {
		return err
	}
	return f.Close()
}

func writeRows(out *input.Writer, r *rig.Rig, hours float64, labelled bool) error {
	late := rand.New(rand.NewPCG(seed, 1))
	n := 0
	for _, d := range r.Devices() {
		n += len(d.Axes)
	}
	row := input.Row{Counts: make([]int16, n), Present: make([]bool, n)}
	for k := range int(hours * 3600 * rowsHz) {
		us := int64(k) * 1e6 / rowsHz
		if k > 0 {
			us += late.Int64N(2*lateUS+1) - lateUS
		}
		at := time.Duration(us) * time.Microsecond
		r.Advance(at)
		r.Counts(row.Counts)
		r.Present(row.Present)
		row.AtUS = us
		if labelled {
			row.Phase = r.PhaseAt(at)
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	return nil
}
