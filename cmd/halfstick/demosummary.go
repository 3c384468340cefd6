package main

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"time"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/curves"
	"halfstick/fit/measure"
	"halfstick/fit/propose"
	"halfstick/input"
	"halfstick/input/rig"
)

// summary sets what was found beside what the simulated devices really have.
func (d *demo) summary(w io.Writer, m *measured, p *propose.Proposal, truths []rig.Truth) error {
	fmt.Fprintf(w, "simulated rig, seed %d: %.0f seconds recorded through %s\n\n",
		d.seed, m.recording.Duration().Seconds(), m.recording.Header.Source)
	tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	fmt.Fprintln(tw, "axis\tquantity\tfound\t95 % interval\treally")
	for i := range truths {
		axis, err := m.measurement.Axis(truths[i].Label)
		if err != nil {
			return err
		}
		name := axis.Label
		for _, row := range beside(m.recording, axis, &truths[i]) {
			if !text.Measured(row.found) {
				continue
			}
			really := *row.found
			really.Value = row.really
			fmt.Fprintf(tw, "%s\t%s\t%s\t%s\t%s\n", name, row.name, text.Value(row.found), text.Interval(row.found), text.Value(&really))
			name = ""
		}
	}
	if err := tw.Flush(); err != nil {
		return err
	}
	fmt.Fprintln(w, "\nwhat it says")
	tw = tabwriter.NewWriter(w, 0, 0, 2, ' ', 0)
	for _, a := range m.measurement.Axes {
		fmt.Fprintf(tw, "  %s\t%s\n", a.Label, findingList(a.Findings))
	}
	fmt.Fprintln(tw, "\nwhat it proposes\t")
	for i := range p.Axes {
		a := &p.Axes[i]
		r := a.Profile.Response
		deadband := text.Percent(r.Deadband.Low) + " low, " + text.Percent(r.Deadband.High) + " high"
		if r.Kind == curves.OneSided {
			deadband = text.Percent(r.Deadband.Low) + " at the idle stop"
		}
		fmt.Fprintf(tw, "  %s\t%s; deadband %s; the commands of normal flight %s\n", a.Profile.Label, a.Chosen, deadband, a.ShareSays())
	}
	if err := tw.Flush(); err != nil {
		return err
	}
	_, err := fmt.Fprintf(w, "\nopen %s in a browser; everything else is in %s\n", d.file(demoSheet).path, d.folder)
	return err
}

// besideRow is a quantity as found and as it really is, in the same unit.
type besideRow struct {
	name   string
	found  *measure.Quantity
	really float64
}

// beside pairs an axis's measurements with the truth. Readings at the stops and
// after releases are taken with the drift that had built up by the middle of
// the time in which they were measured.
func beside(rec *input.Recording, a *measure.Axis, t *rig.Truth) []besideRow {
	drifted := func(phase input.PhaseKind) float64 {
		return t.DriftCountsPerMinute * middle(rec, a.Label, phase).Minutes()
	}
	swept := drifted(input.Sweep)
	rows := []besideRow{
		{"step", a.Step, t.StepCounts},
		{"rest noise", a.Rest.Sigma, t.SigmaCounts},
		{"drift", a.Rest.DriftPerMinute, t.DriftCountsPerMinute},
		{"spikes", a.Rest.SpikesPerMinute, t.SpikesPerMinute},
		{"reports", a.Timing.ReportHz, t.ReportHz},
		{"low stop", a.Travel.Low, t.LowCounts + swept},
		{"high stop", a.Travel.High, t.HighCounts + swept},
	}
	if t.ReturnLow != nil && a.Return.FromLow != nil {
		rows = append(rows, besideRow{"return from low", a.Return.FromLow.Mean, *t.ReturnLow + drifted(input.ReleaseLow)})
	}
	if t.ReturnHigh != nil && a.Return.FromHigh != nil {
		rows = append(rows, besideRow{"return from high", a.Return.FromHigh.Mean, *t.ReturnHigh + drifted(input.ReleaseHigh)})
	}
	if t.GapCounts != nil {
		rows = append(rows, besideRow{"return gap", a.Return.Gap, *t.GapCounts})
	}
	if t.Worn != nil {
		// In the measurement's own positions, which begin where it rests.
		from, to := measuredPosition(a, t.WornCounts[0]), measuredPosition(a, t.WornCounts[1])
		rows = append(rows,
			besideRow{"worn from", a.Sweep.WornFrom, from},
			besideRow{"worn to", a.Sweep.WornTo, to},
			besideRow{"worn noise", a.Sweep.WornRatio, t.Worn.Times})
	}
	return rows
}

// measuredPosition is the position u at which a measured axis shows counts; 0
// where its travel could not be measured.
func measuredPosition(a *measure.Axis, counts float64) float64 {
	if a.Travel.Low == nil || a.Travel.Centre == nil || a.Travel.High == nil {
		return 0
	}
	r := curves.StraightThrough(curves.Kind(a.Kind))
	r.Calibration = curves.Calibration{Low: a.Travel.Low.Value, Centre: a.Travel.Centre.Value, High: a.Travel.High.Value}
	return r.Position(counts)
}

// middle is the mean time of an axis's stretches of a phase.
func middle(rec *input.Recording, label string, phase input.PhaseKind) time.Duration {
	stretches := rec.PhaseRanges(phase, label)
	if len(stretches) == 0 {
		return 0
	}
	var sum int64
	for _, s := range stretches {
		sum += (rec.Times.At(s.From) + rec.Times.At(s.To-1)) / 2
	}
	return time.Duration(sum/int64(len(stretches))) * time.Microsecond
}

func findingList(findings []measure.Finding) string {
	said := make([]string, len(findings))
	for i, f := range findings {
		said[i] = f.Code + " (" + string(f.Severity) + ")"
	}
	return strings.Join(said, ", ")
}
