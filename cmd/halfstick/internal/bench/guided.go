package bench

import (
	"errors"
	"path/filepath"
	"time"

	"halfstick/input"
	"halfstick/input/guide"
)

// guided is a guided recording under way.
type guided struct {
	session *guide.Session
	rig     uint64   // that it records
	rows    *rowFile // nil until rows are written
	failed  error    // why they could not be
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
	return b.lead(guide.Options{Axes: labels}, func(rig sampled, devices []input.Device) (*rowFile, error) {
		return createRows(b.newRecordingPath("recording", time.Now()), input.Header{
			Started: time.Now().Round(0).UTC(), RateHz: b.config.RateHz, Source: rig.Source, Devices: devices,
		}, b.config.Clock != nil)
	})
}

// lead leads through a recording of the rig as it is, into what open opens.
func (b *Bench) lead(o guide.Options, open func(sampled, []input.Device) (*rowFile, error)) error {
	b.mu.Lock()
	defer b.mu.Unlock()
	rig, err := b.freeRig()
	if err != nil {
		return err
	}
	g := &guided{rig: rig.Number}
	o.Devices = rig.Devices
	s, err := guide.NewSession(o, func(devices []input.Device) (input.RowWriter, error) {
		rows, err := open(rig, devices)
		if err != nil {
			return nil, err
		}
		g.rows = rows
		b.session.SetGuided(filepath.Base(rows.path))
		return rows, nil
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
	err := g.failed
	if g.rows != nil {
		err = errors.Join(err, g.rows.close())
	}
	b.mu.Lock()
	b.guided = nil
	b.revision++
	b.mu.Unlock()
	if g.rows != nil {
		b.session.SetRecording(filepath.Base(g.rows.path))
		b.session.SetGuided("")
	}
	switch {
	case err != nil:
		b.setBusy("", err)
	case g.rows == nil:
		b.setBusy("", errors.New("the recording ended before anything was recorded; begin again when you are ready"))
	case b.ctx.Err() == nil:
		b.look()
	}
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
