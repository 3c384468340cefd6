package bench

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"halfstick/input"
	"halfstick/input/guide"
)

// guided is a guided recording under way.
type guided struct {
	session *guide.Session
	rig     uint64 // that it records
	path    string // of the recording, empty until rows are written
	file    *os.File
	out     *input.Writer
	behind  *input.Background // keeps the file's writing off the sampling thread; nil with a clock that jumps
	failed  error             // why rows could not be written
}

// Guiding is what a guided recording asks for now; false without one.
func (b *Bench) Guiding() (guide.State, bool) {
	b.mu.Lock()
	g := b.guided
	b.mu.Unlock()
	if g == nil {
		return guide.State{}, false
	}
	return g.session.State(), true
}

// guideView is what a page shows of a guided recording.
type guideView struct {
	Under bool         `json:"under_way"`
	State *guide.State `json:"state"`
}

func (b *Bench) guideState() guideView {
	state, on := b.Guiding()
	if !on {
		return guideView{}
	}
	return guideView{Under: true, State: &state}
}

// beginGuide begins a guided recording of the rig as it is.
func (b *Bench) beginGuide(labels []string) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.guided != nil {
		return errors.New("a guided recording is under way already; end it first")
	}
	if b.busy != "" {
		return fmt.Errorf("wait until the bench is done with %s", b.busy)
	}
	rig := b.rigNow()
	if len(rig.Devices) == 0 {
		return fmt.Errorf("there is nothing to record: %s", rig.Problem)
	}
	g := &guided{rig: rig.Number}
	s, err := guide.NewSession(guide.Options{Devices: rig.Devices, Axes: labels}, func(devices []input.Device) (input.RowWriter, error) {
		return g.create(b.newRecordingPath(time.Now()), input.Header{
			Started: time.Now().Round(0).UTC(), RateHz: b.config.RateHz, Source: rig.Source, Devices: devices,
		}, b.config.Clock != nil)
	})
	if err != nil {
		return err
	}
	g.session, b.guided = s, g
	b.sampler.record(g)
	b.work.Go(func() { b.awaitGuide(g) })
	return nil
}

// Write hands the sampler's rows to the guide, on the sampling goroutine.
func (g *guided) Write(row input.Row) error {
	g.failed = g.session.Write(row)
	return g.failed
}

// create opens the recording, on the sampling goroutine.
func (g *guided) create(path string, h input.Header, jumps bool) (input.RowWriter, error) {
	file, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if err != nil {
		return nil, fmt.Errorf("cannot make the recording: %w; choose another folder with --session", err)
	}
	out, err := input.NewWriter(file, h)
	if err != nil {
		return nil, errors.Join(err, file.Close(), os.Remove(path))
	}
	g.path, g.file, g.out = path, file, out
	if jumps {
		return out, nil // a clock that jumps outruns any disk, and is held up by none
	}
	g.behind = input.NewBackground(out, h.RateHz, file.Sync)
	return g.behind, nil
}

// awaitGuide waits for the end of a guided recording and looks at what it
// brought.
func (b *Bench) awaitGuide(g *guided) {
	rigs := time.NewTicker(lookEvery)
	defer rigs.Stop()
	for waiting := true; waiting; {
		select {
		case <-g.session.Done():
			waiting = false
		case <-b.ctx.Done():
			waiting = false
		case <-rigs.C:
			// The columns of another rig are not those of the guide.
			waiting = b.sampler.now().Number == g.rig
		}
	}
	b.sampler.record(nil)
	err := g.close()
	b.mu.Lock()
	b.guided = nil
	b.revision++
	b.mu.Unlock()
	switch {
	case err != nil:
		b.setBusy("", err)
	case g.path == "":
		b.setBusy("", errors.New("the recording ended before anything was recorded; begin again when you are ready"))
	case b.ctx.Err() == nil:
		b.session.SetRecording(filepath.Base(g.path))
		b.look(g.path)
	}
}

// close ends the file; the sampler has let go of the guide.
func (g *guided) close() error {
	if g.out == nil {
		return g.failed
	}
	if g.behind != nil {
		g.failed = errors.Join(g.failed, g.behind.Close())
	}
	return errors.Join(g.failed, g.out.Close(), g.file.Close())
}

// actGuide passes on what a person asks of the guide.
func (b *Bench) actGuide(a guide.Action) error {
	b.mu.Lock()
	g := b.guided
	b.mu.Unlock()
	if g == nil {
		return errors.New("no guided recording is under way")
	}
	return g.session.Do(a)
}
