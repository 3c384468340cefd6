package bench

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"path/filepath"
	"slices"
	"time"

	"halfstick/cmd/halfstick/internal/bench/session"
	"halfstick/curves"
	"halfstick/input"
)

// naming is what a person says of an axis: what it is called and of which kind
// it is.
type naming struct {
	Axis  string     `json:"axis"` // its label so far
	Label string     `json:"label"`
	Kind  input.Kind `json:"kind"`
}

// nameAxis names an axis. Where a recording has it, the name goes into the file,
// so that everything that reads it says the same; else the session keeps it for
// the recordings to come.
func (b *Bench) nameAxis(r *http.Request) (any, error) {
	var wish naming
	if err := read(r, &wish); err != nil {
		return nil, err
	}
	if !input.ValidName(wish.Label) {
		return nil, fmt.Errorf("an axis cannot be called %q; use up to 64 letters, digits and hyphens", wish.Label)
	}
	if wish.Kind != input.OneSided && wish.Kind != input.TwoSided {
		return nil, fmt.Errorf("an axis cannot be %q; load the page anew", wish.Kind)
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if err := b.free(); err != nil {
		return nil, err
	}
	var recorded []input.Device
	if a := b.analysis.Load(); a != nil {
		recorded = a.sheet.Recordings[0].Header.Devices
	}
	live := b.rigNow().Devices
	if wish.Label != wish.Axis {
		for _, devices := range [][]input.Device{recorded, live} {
			if has, taken := findAxis(devices, wish.Label); taken {
				return nil, fmt.Errorf("an axis of %s is called %s already; choose another name", has.device.Name, wish.Label)
			}
		}
	}
	if found, ok := findAxis(recorded, wish.Axis); ok {
		b.busy, b.problem = "naming "+wish.Label, ""
		b.revision++
		b.work.Go(func() { b.renameRecorded(found.device.ID, found.axis.Index, wish) })
		return nil, nil
	}
	found, ok := findAxis(live, wish.Axis)
	if !ok {
		return nil, fmt.Errorf("there is no axis %q; load the page anew", wish.Axis)
	}
	b.session.SetName(session.AxisName{Device: found.device.ID, Index: found.axis.Index, Label: wish.Label, Kind: wish.Kind})
	b.renamedTo(wish.Axis, wish.Label)
	b.revision++
	return nil, nil
}

// renameRecorded names an axis in the recording that is looked at and in its
// flights, and measures it anew. A recording that lies elsewhere is not ours to
// change: the session gets a copy.
func (b *Bench) renameRecorded(device string, index int, wish naming) {
	path := b.analysis.Load().path
	to := path
	if filepath.Dir(path) != filepath.Clean(b.session.Folder()) {
		to = b.newRecordingPath("recording", time.Now())
	}
	err := renameAxis(path, to, device, index, wish)
	if err == nil {
		b.session.SetRecording(to)
		b.session.Rename(wish.Axis, wish.Label)
		for _, flight := range b.session.Flights() {
			err = errors.Join(err, renameAxis(flight, flight, device, index, wish))
		}
	}
	if err != nil {
		b.setBusy("", err)
		return
	}
	b.mu.Lock()
	b.renamedTo(wish.Axis, wish.Label)
	b.mu.Unlock()
	b.look()
}

// renamedTo lets pages that show an axis follow it to its new name; the lock is
// held.
func (b *Bench) renamedTo(from, to string) {
	renamed := map[string]string{}
	for old, new := range b.renamed {
		if new == from {
			new = to
		}
		if old != to {
			renamed[old] = new
		}
	}
	if from != to {
		renamed[from] = to
	}
	b.renamed = renamed // the old one may be on its way to a page
}

// renameAxis writes a recording with another name and kind of one of its axes;
// one that does not have the axis is left as it is.
func renameAxis(path, to, device string, index int, wish naming) error {
	rec, err := input.Open(path)
	if err != nil {
		return err
	}
	devices := slices.Clone(rec.Header.Devices)
	old := ""
	for i := range devices {
		if devices[i].ID != device {
			continue
		}
		devices[i].Axes = slices.Clone(devices[i].Axes)
		for k := range devices[i].Axes {
			if a := &devices[i].Axes[k]; a.Index == index {
				old, a.Label, a.Kind = a.Label, wish.Label, wish.Kind
			}
		}
	}
	if old == "" {
		return nil
	}
	rec.Header.Devices = devices
	rec.Header.FlownWith = flownUnder(rec.Header.FlownWith, old, wish.Label)
	for i := range rec.Stretches {
		if p := &rec.Stretches[i].Phase; p.Label == old {
			p.Label = wish.Label
		}
	}
	var data bytes.Buffer
	if err := rec.Write(&data); err != nil {
		return err
	}
	if err := writeWhole(to, &data); err != nil {
		return fmt.Errorf("cannot keep the name: %w; see that the disk has room", err)
	}
	return nil
}

// flownUnder is the profile that a flight was flown with, under an axis's new
// name. One that cannot be read is left as it is.
func flownUnder(profile json.RawMessage, from, to string) json.RawMessage {
	if len(profile) == 0 {
		return profile
	}
	p, err := curves.ParseProfile(profile, "flown_with")
	if err != nil {
		return profile
	}
	for i := range p.Axes {
		if p.Axes[i].Label == from {
			p.Axes[i].Label = to
		}
	}
	if renamed, err := p.MarshalJSON(); err == nil {
		return renamed
	}
	return profile
}
