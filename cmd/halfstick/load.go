package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"halfstick/curves"
	"halfstick/fit/measure"
	"halfstick/fit/propose"
	"halfstick/input"
)

// measured is a recording with its measurement: what measure and propose
// start from.
type measured struct {
	recording   *input.Recording
	measurement *measure.Measurement
	since       *measure.Change // against an older recording; nil without one
}

// loadMeasured reads recordings of one rig, joins them and measures them.
// Warnings about the files go to errs.
func loadMeasured(paths []string, errs io.Writer) (*measured, error) {
	recordings := make([]*input.Recording, len(paths))
	names := make([]string, len(paths))
	for i, path := range paths {
		rec, err := openRecording(path, errs)
		if err != nil {
			return nil, err
		}
		recordings[i], names[i] = rec, filepath.Base(path)
	}
	rec, err := input.Join(recordings, names)
	if err != nil {
		return nil, err
	}
	m, err := measure.Recording(rec, strings.Join(names, " + "))
	if err != nil {
		return nil, err
	}
	return &measured{recording: rec, measurement: m}, nil
}

// only keeps just the axis of that label, all axes where label is empty. What the
// others have to do with it, such as coupling, has been measured by then.
func (m *measured) only(label string) error {
	if label == "" {
		return nil
	}
	axis, err := m.measurement.Axis(label)
	if err == nil {
		m.measurement.Axes = []measure.Axis{*axis}
	}
	return err
}

// propose suggests a response for every measured axis.
func (m *measured) propose(opts propose.Options) (*propose.Proposal, error) {
	return propose.Axes([]*input.Recording{m.recording}, []*measure.Measurement{m.measurement}, opts)
}

func openRecording(path string, errs io.Writer) (*input.Recording, error) {
	rec, err := input.Open(path)
	if err != nil {
		return nil, err
	}
	if rec.DroppedBytes > 0 {
		fmt.Fprintf(errs, "%s ends in the middle of a row; its last %d bytes were left out\n", path, rec.DroppedBytes)
	}
	return rec, nil
}

func openProfile(path string) (*curves.Profile, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, fmt.Errorf("cannot open the profile: %w; name a profile that halfstick propose has written", err)
	}
	defer f.Close()
	return curves.ReadProfile(f, path)
}

// openProfileAxis opens a profile and keeps just the axis of that label, all
// axes where label is empty.
func openProfileAxis(path, label string) (*curves.Profile, error) {
	p, err := openProfile(path)
	if err != nil || label == "" {
		return p, err
	}
	axis, err := p.Axis(label)
	if err != nil {
		return nil, err
	}
	return &curves.Profile{Axes: []curves.ProfileAxis{*axis}}, nil
}
