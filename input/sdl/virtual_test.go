//go:build cgo

package sdl

import (
	"errors"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/rig"
)

// twoDevices is a stick of two axes and pedals of one.
func twoDevices() []input.Device {
	return []input.Device{
		{ID: "stick", Name: "Example Stick", Axes: []input.Axis{
			{Label: "pitch", Index: 0, Kind: input.TwoSided}, {Label: "roll", Index: 1, Kind: input.TwoSided}}},
		{ID: "pedals", Name: "Example Pedals", Axes: []input.Axis{
			{Label: "left-brake", Index: 0, Kind: input.OneSided}}},
	}
}

func mustVirtual(t *testing.T, devices []input.Device) *VirtualRig {
	t.Helper()
	v, err := Virtual(devices)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := v.Close(); err != nil {
			t.Error(err)
		}
	})
	return v
}

// setAndPoll puts counts through SDL and returns what comes out.
func setAndPoll(t *testing.T, v *VirtualRig, set []int16) ([]int16, []bool) {
	t.Helper()
	if err := v.Set(set); err != nil {
		t.Fatal(err)
	}
	got, present := make([]int16, len(set)), make([]bool, len(set))
	if err := v.Poll(got, present); err != nil {
		t.Fatal(err)
	}
	return got, present
}

// Every count passes unchanged, on every axis, whatever the others do.
func TestEveryCountPassesUnchanged(t *testing.T) {
	v := mustVirtual(t, twoDevices())
	passed := 0
	for c := math.MinInt16; c <= math.MaxInt16; c++ {
		set := []int16{int16(c), int16(^c), int16(c ^ 0x5555)}
		got, present := setAndPoll(t, v, set)
		if !slices.Equal(got, set) || slices.Contains(present, false) {
			t.Fatalf("set %v, got %v, present %v", set, got, present)
		}
		passed++
	}
	if passed != 65536 {
		t.Errorf("%d counts tried, want 65536", passed)
	}
}

// A virtual axis is not held at its first reading: the smallest movement shows
// (so the simulated rig proves nothing about that hold).
func TestVirtualAxesAreNotHeld(t *testing.T) {
	v := mustVirtual(t, twoDevices())
	for _, c := range []int16{1000, 1001, 999} {
		got, _ := setAndPoll(t, v, []int16{c, 0, 0})
		if got[0] != c {
			t.Errorf("set %d, got %d", c, got[0])
		}
	}
}

func TestDevicesKeepTheirNamesAndGetGUIDs(t *testing.T) {
	v := mustVirtual(t, twoDevices())
	whole := regexp.MustCompile(`^[0-9a-f]{32}$`)
	found, err := List()
	if err != nil {
		t.Fatal(err)
	}
	if len(found) != 2 {
		t.Fatalf("listed %d controllers, want the 2 virtual ones", len(found))
	}
	for i, d := range v.Devices() {
		f := found[i]
		if d.Name != twoDevices()[i].Name || f.Name != d.Name {
			t.Errorf("device %d is %q, listed as %q, want %q", i, d.Name, f.Name, twoDevices()[i].Name)
		}
		if !whole.MatchString(d.GUID) || f.GUID != d.GUID {
			t.Errorf("device %d has GUID %q, listed as %q, want the same 32 digits", i, d.GUID, f.GUID)
		}
		if len(f.Counts) != len(d.Axes) || !f.Virtual {
			t.Errorf("device %d listed with %d axes, virtual %v; want %d, true", i, len(f.Counts), f.Virtual, len(d.Axes))
		}
	}
	if v.Devices()[0].GUID == v.Devices()[1].GUID {
		t.Error("both devices have the same GUID")
	}
	if found[0].ID != "example-stick" || found[1].ID != "example-pedals" {
		t.Errorf("ids %s, %s", found[0].ID, found[1].ID)
	}
}

func TestListShowsPresentCounts(t *testing.T) {
	v := mustVirtual(t, twoDevices())
	setAndPoll(t, v, []int16{123, -456, 32767})
	found, err := List()
	if err != nil {
		t.Fatal(err)
	}
	if len(found) != 2 || !slices.Equal(found[0].Counts, []int16{123, -456}) || !slices.Equal(found[1].Counts, []int16{32767}) {
		t.Errorf("listed %+v", found)
	}
}

// A removed device is absent, and stays so; the other goes on.
func TestDetachedDeviceIsAbsent(t *testing.T) {
	v := mustVirtual(t, twoDevices())
	setAndPoll(t, v, []int16{1, 2, 3})
	if err := v.Detach(0); err != nil {
		t.Fatal(err)
	}
	for range 2 {
		got, present := setAndPoll(t, v, []int16{10, 20, 30})
		if !slices.Equal(got, []int16{0, 0, 30}) || !slices.Equal(present, []bool{false, false, true}) {
			t.Errorf("after detaching the stick: counts %v, present %v", got, present)
		}
	}
}

func TestNoDevices(t *testing.T) {
	if found, err := List(); err != nil || len(found) != 0 {
		t.Skipf("this machine has controllers of its own: %v, %v", found, err)
	}
	if _, err := Open(Options{}); !errors.Is(err, ErrNoDevices) {
		t.Errorf("open without controllers: %v, want %v", err, ErrNoDevices)
	}
}

// Open chooses by id, GUID or name and labels as it is told.
func TestOpenChoosesAndLabels(t *testing.T) {
	v := mustVirtual(t, twoDevices())
	guid := v.Devices()[1].GUID
	for _, name := range []string{"example-pedals", guid, strings.ToUpper(guid), "Example Pedals"} {
		s, err := Open(Options{
			Devices: []string{name},
			Labels:  map[string]string{"example-pedals.x": "rudder"},
			Kinds:   map[string]input.Kind{"rudder": input.OneSided},
		})
		if err != nil {
			t.Errorf("open %s: %v", name, err)
			continue
		}
		d := s.Devices()
		if len(d) != 1 || d[0].GUID != guid || d[0].Axes[0].Label != "rudder" || d[0].Axes[0].Kind != input.OneSided {
			t.Errorf("open %s: %+v", name, d)
		}
		if err := s.Close(); err != nil {
			t.Error(err)
		}
	}
	if _, err := Open(Options{Devices: []string{"yoke"}}); err == nil || !strings.Contains(err.Error(), "example-stick, example-pedals") {
		t.Errorf("open an unknown id: %v", err)
	}
	// The failed open has left SDL as it was.
	if got, _ := setAndPoll(t, v, []int16{7, 8, 9}); !slices.Equal(got, []int16{7, 8, 9}) {
		t.Errorf("after a failed open: %v", got)
	}
}

func TestPollFromAnotherThread(t *testing.T) {
	v := mustVirtual(t, twoDevices())
	failed := make(chan error)
	go func() { failed <- v.Poll(make([]int16, 3), make([]bool, 3)) }()
	if err := <-failed; err == nil || !strings.Contains(err.Error(), "another thread") {
		t.Errorf("poll from another goroutine: %v", err)
	}
	if err := v.Poll(make([]int16, 2), make([]bool, 3)); err == nil {
		t.Error("poll into too few counts succeeded")
	}
}

// stepClock is a clock that jumps.
type stepClock struct{ now time.Duration }

func (c *stepClock) Now() time.Duration          { return c.now }
func (c *stepClock) SleepUntil(at time.Duration) { c.now = max(c.now, at) }

// The simulated rig's samples, read through SDL, are the rig's own.
func TestSimulatedRigPassesThroughSDL(t *testing.T) {
	const seed = 11
	clock := &stepClock{}
	s, err := NewSimulated(rig.Default(seed), clock)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	want := `^sdl \d+\.\d+\.\d+ \w+, simulated rig seed 11$`
	if !regexp.MustCompile(want).MatchString(s.Describe()) {
		t.Errorf("source %q does not match %s", s.Describe(), want)
	}
	twin := rig.Default(seed)
	n := 7
	got, direct, present := make([]int16, n), make([]int16, n), make([]bool, n)
	distinct := map[int16]bool{}
	for i := range 10000 {
		clock.SleepUntil(time.Duration(i) * 2 * time.Millisecond)
		if err := s.Poll(got, present); err != nil {
			t.Fatal(err)
		}
		twin.Advance(clock.Now())
		twin.Counts(direct)
		if !slices.Equal(got, direct) || slices.Contains(present, false) {
			t.Fatalf("at %v: through SDL %v, directly %v, present %v", clock.Now(), got, direct, present)
		}
		distinct[got[0]] = true
	}
	if len(distinct) < 1000 {
		t.Errorf("pitch took %d values in its sweep, want thousands", len(distinct))
	}
}
