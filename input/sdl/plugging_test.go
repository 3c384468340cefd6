//go:build cgo

package sdl

import (
	"reflect"
	"slices"
	"testing"

	native "github.com/veandco/go-sdl2/sdl"

	"halfstick/input"
)

// openBeside opens, as any program would, virtual joysticks that the test has
// plugged in.
func openBeside(t *testing.T, o Options) input.Watcher {
	t.Helper()
	s, err := Open(o)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	})
	return s.(input.Watcher)
}

// reads polls once and checks counts (absent where there is nil) and events.
func reads(t *testing.T, s input.Watcher, want []any, events ...input.Event) {
	t.Helper()
	counts, present := make([]int16, len(want)), make([]bool, len(want))
	if err := s.Poll(counts, present); err != nil {
		t.Fatal(err)
	}
	got := make([]any, len(want))
	for i := range want {
		if present[i] {
			got[i] = int(counts[i])
		}
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("read %v, want %v", got, want)
	}
	if got := s.Events(); !slices.Equal(got, events) {
		t.Errorf("events %+v, want %+v", got, events)
	}
}

// set puts one device's counts in.
func set(t *testing.T, v *VirtualRig, device int, counts ...int16) {
	t.Helper()
	for axis, c := range counts {
		if err := setVirtual(v.open[device].joystick, axis, c); err != nil {
			t.Fatal(err)
		}
	}
}

func TestReplugGoesOnInItsColumns(t *testing.T) {
	v := mustVirtual(t, twoDevices())
	s := openBeside(t, Options{})
	set(t, v, 0, 1, 2)
	set(t, v, 1, 3)
	reads(t, s, []any{1, 2, 3})

	if err := v.Detach(0); err != nil {
		t.Fatal(err)
	}
	reads(t, s, []any{nil, nil, 3}, input.Event{Kind: input.Unplugged, Device: "example-stick"})
	reads(t, s, []any{nil, nil, 3})

	// Another device never lands in the columns, be it of the same name.
	other := twoDevices()[1]
	other.Name = "Example Lever"
	fewer := twoDevices()[0]
	fewer.Axes = fewer.Axes[:1]
	for i, d := range []input.Device{other, fewer} {
		if err := v.attach(d); err != nil {
			t.Fatal(err)
		}
		set(t, v, 2+i, 99)
		reads(t, s, []any{nil, nil, 3}, input.Event{Kind: input.Stranger, Device: d.Name})
		if err := v.Detach(2 + i); err != nil {
			t.Fatal(err)
		}
		reads(t, s, []any{nil, nil, 3})
	}

	if err := v.attach(twoDevices()[0]); err != nil {
		t.Fatal(err)
	}
	set(t, v, 4, 10, 20)
	reads(t, s, []any{10, 20, 3}, input.Event{Kind: input.Plugged, Device: "example-stick"})
	set(t, v, 4, 11, 21)
	reads(t, s, []any{11, 21, 3})

	// And again, with a twin of it beside: that one has no columns.
	if err := v.attach(twoDevices()[0]); err != nil {
		t.Fatal(err)
	}
	reads(t, s, []any{11, 21, 3}, input.Event{Kind: input.Stranger, Device: "Example Stick"})
}

// A controller that was there and not chosen is no stranger.
func TestControllersNotChosenAreNotTold(t *testing.T) {
	v := mustVirtual(t, twoDevices())
	s := openBeside(t, Options{Devices: []string{"example-pedals"}})
	set(t, v, 1, 3)
	reads(t, s, []any{3})
	if err := v.Detach(0); err != nil {
		t.Fatal(err)
	}
	reads(t, s, []any{3})
}

// After a replug a real controller's axes are held at their first reading again,
// however far the one that went was moved.
func TestAxesAreHeldAgainAfterAReplug(t *testing.T) {
	v := mustVirtual(t, twoDevices())
	s := openBeside(t, Options{}).(*source)
	o := s.open[1]
	o.away, o.holds[0] = true, hold{free: true}
	s.take(o, &Found{Name: "Example Pedals", Counts: make([]int16, 1)}, native.JoystickOpen(1))
	if o.away || !slices.Equal(o.holds, []hold{{}}) {
		t.Errorf("after the replug it is away: %v, and its axis is held as %+v", o.away, o.holds)
	}
	set(t, v, 1, 0)
	reads(t, s, []any{0, 0, nil})
	set(t, v, 1, 3)
	reads(t, s, []any{0, 0, 3})
}
