//go:build cgo

package sdl

import (
	"errors"
	"fmt"
	"maps"
	"slices"

	native "github.com/veandco/go-sdl2/sdl"

	"halfstick/input"
)

// VirtualRig is a set of SDL virtual joysticks, and the source that reads them
// back through SDL as it reads any controller. What holds for Open's thread
// holds here.
type VirtualRig struct {
	source
	instances []native.JoystickID
}

// Virtual attaches one virtual joystick a device, with the device's name and
// as many axes. Ids, labels and kinds are the devices' own; GUIDs are SDL's.
func Virtual(devices []input.Device) (*VirtualRig, error) {
	stop, err := start()
	if err != nil {
		return nil, err
	}
	v := &VirtualRig{source: source{stop: stop, thread: thisThread(), virtualOnly: true}}
	for _, d := range devices {
		if err := v.attach(d); err != nil {
			return nil, errors.Join(err, v.Close())
		}
	}
	return v, nil
}

func (v *VirtualRig) attach(d input.Device) error {
	id, err := attachVirtual(d.Name, len(d.Axes))
	if err != nil {
		return err
	}
	v.instances = append(v.instances, id)
	index, ok := indexOf(id)
	if !ok {
		return fmt.Errorf("virtual joystick %s is not listed after it was attached", d.Name)
	}
	j := native.JoystickOpen(index)
	if j == nil {
		return fmt.Errorf("open virtual joystick %s: %s", d.Name, lastError())
	}
	d.GUID = guidAt(index)
	d.Axes = slices.Clone(d.Axes)
	d.Extra = maps.Clone(d.Extra)
	v.devices = append(v.devices, d)
	v.open = append(v.open, &opened{
		id:       d.ID,
		joystick: j,
		holds:    newHolds(len(d.Axes), true),
	})
	return nil
}

// Set sets every axis, in column order; the next Poll reads them. Detached
// devices are left out.
func (v *VirtualRig) Set(counts []int16) error {
	if len(counts) != v.axes() {
		return fmt.Errorf("%d counts for %d virtual axes; give one each", len(counts), v.axes())
	}
	col := 0
	for _, o := range v.open {
		attached := o.joystick.Attached()
		for a := range o.holds {
			if !attached {
				break
			}
			if err := setVirtual(o.joystick, a, counts[col+a]); err != nil {
				return err
			}
		}
		col += len(o.holds)
	}
	return nil
}

// Detach takes device i away, as if it were unplugged.
func (v *VirtualRig) Detach(i int) error {
	if i < 0 || i >= len(v.instances) {
		return fmt.Errorf("no virtual device %d; there are %d", i, len(v.instances))
	}
	return detachVirtual(v.instances[i])
}

// Close detaches the virtual joysticks and closes SDL.
func (v *VirtualRig) Close() error {
	if v.stop == nil {
		return nil
	}
	var failed []error
	for _, id := range v.instances {
		failed = append(failed, detachVirtual(id))
	}
	return errors.Join(append(failed, v.source.Close())...)
}

// simulated is a virtual rig fed by a simulation.
type simulated struct {
	*VirtualRig
	feeder Feeder
	clock  input.Clock
	counts []int16
}

// NewSimulated puts a simulated rig behind SDL virtual joysticks. At each Poll
// the simulation is advanced to the clock's time, its newest counts are set on
// the virtual joysticks, and the counts are read back through SDL. The clock's
// 0 is the simulation's.
func NewSimulated(f Feeder, clock input.Clock) (input.Source, error) {
	v, err := Virtual(f.Devices())
	if err != nil {
		return nil, err
	}
	v.note = f.Describe()
	return &simulated{VirtualRig: v, feeder: f, clock: clock, counts: make([]int16, v.axes())}, nil
}

func (s *simulated) Poll(dst []int16, present []bool) error {
	s.feeder.Advance(s.clock.Now())
	s.feeder.Counts(s.counts)
	if err := s.Set(s.counts); err != nil {
		return err
	}
	return s.VirtualRig.Poll(dst, present)
}
