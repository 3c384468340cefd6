package bench

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"halfstick/input"
	"halfstick/input/guide"
)

// unfinished is a guided recording that lacks steps, and so can be gone on with.
type unfinished struct {
	path    string
	devices []input.Device
	missing []string // an axis each, with its steps
}

// unfinishedOf tells what a guided recording lacks; nil where it lacks nothing,
// or was not guided.
func unfinishedOf(path string, rec *input.Recording) *unfinished {
	g, err := guide.New(guide.Options{Devices: rec.Header.Devices, Done: rec})
	if err != nil || g.Finished() {
		return nil
	}
	out := &unfinished{path: path, devices: rec.Header.Devices}
	for _, a := range g.State().Axes {
		var steps []string
		for _, s := range a.Missing {
			steps = append(steps, string(s))
		}
		if len(steps) > 0 {
			out.missing = append(out.missing, a.Label+" ("+strings.Join(steps, ", ")+")")
		}
	}
	return out
}

// lacks is what the rig lacks to go on with it, empty if nothing.
func (u *unfinished) lacks(rig []input.Device) string {
	for _, d := range u.devices {
		there := false
		for _, r := range rig {
			there = there || r.ID == d.ID && r.GUID == d.GUID
		}
		if !there {
			return "plug in " + d.Name + " to go on"
		}
	}
	return ""
}

// unfinishedView is a recording that can be gone on with, on the page.
type unfinishedView struct {
	Name    string   `json:"name"`
	Missing []string `json:"missing"`
	Lacks   string   `json:"lacks"` // what to do before it can be gone on with
}

func (b *Bench) unfinishedNow(rig []input.Device) *unfinishedView {
	u := b.unfinished.Load()
	if u == nil {
		return nil
	}
	return &unfinishedView{Name: filepath.Base(u.path), Missing: u.missing, Lacks: u.lacks(rig)}
}

// adopt looks at the guided recording that was under way when the program was
// killed, if a row of it is in the file.
func (b *Bench) adopt() {
	path := b.session.Guided()
	if path == "" {
		return
	}
	if rec, err := input.Open(path); err == nil && rec.Rows() > 0 {
		b.session.SetRecording(path)
	}
	b.session.SetGuided("")
}

// goOn goes on with the recording that is unfinished. Reading it takes a while.
func (b *Bench) goOn() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	u := b.unfinished.Load()
	if u == nil {
		return errors.New("there is no recording to go on with; begin one")
	}
	rig, err := b.freeRig()
	if err != nil {
		return err
	}
	if lacks := u.lacks(rig.Devices); lacks != "" {
		return fmt.Errorf("%s; or begin a new recording", lacks)
	}
	b.busy, b.problem = "opening "+filepath.Base(u.path), ""
	b.revision++
	b.work.Go(func() {
		rec, err := input.Open(u.path)
		b.setBusy("", err)
		if err == nil {
			if err = b.guideOn(u.path, rec); err != nil {
				b.setBusy("", err)
			}
		}
	})
	return nil
}

// guideOn leads through what a recording lacks.
func (b *Bench) guideOn(path string, rec *input.Recording) error {
	if hz := rec.Header.RateHz; hz != b.config.RateHz {
		return fmt.Errorf("%s has %g rows a second, and the bench samples %g; start it with --rate %g to go on", filepath.Base(path), hz, b.config.RateHz, hz)
	}
	return b.lead(guide.Options{Done: rec}, func(sampled, []input.Device) (*rowFile, error) {
		return appendRows(path, rec, b.config.Clock != nil)
	})
}
