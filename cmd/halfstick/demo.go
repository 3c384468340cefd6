package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"halfstick/cmd/halfstick/internal/figures"
	"halfstick/curves"
	"halfstick/fit/propose"
	"halfstick/input"
)

func newDemo() *cobra.Command {
	d := demo{folder: "demo", rateHz: 500}
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "do the whole job on a simulated rig",
		Long: `Does the whole job on a simulated rig, a quiet stick and a set of old pedals:
records them through SDL, measures, proposes, replays, exports and draws, all
into one folder, and ends with what was found beside what the simulated devices
really have.`,
		Example: "  halfstick demo --out demo --force",
		Args:    needs(0, 0, "the folder with --out, not as an argument"),
		RunE: func(cmd *cobra.Command, _ []string) error {
			d.errs = cmd.ErrOrStderr()
			return d.run(cmd)
		},
	}
	cmd.Flags().StringVar(&d.folder, "out", d.folder, "write everything into this `DIR`")
	cmd.Flags().Uint64Var(&d.seed, "seed", defaultSeed, "seed of the simulated rig: the same seed gives the same devices")
	addForce(cmd, &d.force)
	return cmd
}

// demo is one run of the whole job.
type demo struct {
	folder string
	seed   uint64
	rateHz float64
	force  bool
	errs   io.Writer
}

// Files of the demo.
const (
	demoRecording   = "rig.csv"
	demoMeasurement = "measurement.json"
	demoProfile     = "profile.json"
	demoTable       = "table.csv"
	demoCurves      = "curves.svg"
	demoReplay      = "replay.csv"
	demoReplayPlot  = "replay.svg"
	demoSheet       = "sheet.html"
)

func (d *demo) file(name string) outFile {
	return outFile{path: filepath.Join(d.folder, name), force: d.force}
}

func (d *demo) run(cmd *cobra.Command) error {
	for _, name := range []string{demoRecording, demoMeasurement, demoProfile, demoTable, demoCurves, demoReplay, demoReplayPlot, demoSheet} {
		if err := d.file(name).free(); err != nil {
			return err
		}
	}
	if err := os.MkdirAll(d.folder, 0o755); err != nil {
		return fmt.Errorf("cannot make the folder: %w; choose another with --out", err)
	}
	rig, err := openSimulated(d.seed)
	if err != nil {
		return err
	}
	defer rig.source.Close()
	if err := d.record(cmd, rig); err != nil {
		return err
	}
	d.stage("measuring")
	m, err := loadMeasured([]string{d.file(demoRecording).path}, d.errs)
	if err != nil {
		return err
	}
	d.stage("proposing")
	p, err := m.propose(propose.Defaults())
	if err != nil {
		return err
	}
	if err := d.writeAll(m, p); err != nil {
		return err
	}
	d.stage("")
	return writeOut(cmd, outFile{}, func(w io.Writer) error { return d.summary(w, m, p, rig.Truth()) })
}

func (d *demo) record(cmd *cobra.Command, rig *simulatedRig) error {
	bar := newProgress(d.errs, "recording", rig.Duration().Milliseconds())
	_, err := recordTo(cmd.Context(), d.file(demoRecording), rig.source, input.NewHeader(rig.source, time.Now(), d.rateHz), input.RecordOptions{
		RateHz: d.rateHz, For: rig.Duration(), PhaseAt: rig.PhaseAt, Clock: rig.clock,
		Progress: func(t time.Duration, _ int) { bar.Set64(t.Milliseconds()) },
	})
	bar.Finish()
	return err
}

func (d *demo) writeAll(m *measured, p *propose.Proposal) error {
	profile := p.Profile()
	d.stage("replaying")
	replayed, err := propose.Replay(m.recording, profile, propose.Smoothing{})
	if err != nil {
		return err
	}
	tables, err := profile.Tables(curves.TableOptions{Points: 21, Places: 1, Spacing: curves.Even})
	if err != nil {
		return err
	}
	d.stage("drawing")
	for _, f := range []struct {
		name   string
		render func(io.Writer) error
	}{
		{demoMeasurement, func(w io.Writer) error { return writeJSON(w, m.measurement) }},
		{demoProfile, profile.Write},
		{demoTable, func(w io.Writer) error { return curves.WriteTablesCSV(w, tables) }},
		{demoCurves, func(w io.Writer) error { return figures.Curves(proposedCurves(p), figures.UsualNoise).Write(w, "svg") }},
		{demoReplay, func(w io.Writer) error { return writeReplayCSV(w, replayed) }},
		{demoReplayPlot, func(w io.Writer) error { return figures.Replay(worstPart(replayed)).Write(w, "svg") }},
	} {
		if err := d.file(f.name).write(f.render); err != nil {
			return err
		}
	}
	return writeSheet(d.file(demoSheet), m, p, propose.Defaults().Normal)
}

// stage says on a terminal what is being done; an empty stage clears the line.
func (d *demo) stage(what string) {
	if isTerminal(d.errs) {
		fmt.Fprintf(d.errs, "\r\x1b[K%s", what)
	}
}

// proposedCurves lays the proposals of the two-sided axes over the straight line.
func proposedCurves(p *propose.Proposal) []figures.NamedCurve {
	named := []figures.NamedCurve{figures.OfShape("straight", curves.TwoSided, curves.Straight{})}
	for i := range p.Axes {
		axis := &p.Axes[i].Profile
		if axis.Response.Kind == curves.TwoSided {
			named = append(named, figures.NamedCurve{Name: axis.Label, Response: &axis.Response})
		}
	}
	return named
}
