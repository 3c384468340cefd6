package sdl

import (
	"encoding/json"
	"slices"
	"testing"

	"halfstick/input"
	"halfstick/input/evdev"
)

// SDL counts absolute axes by rising code without the hats, 0x10 to 0x17.
func TestHatsAreNoAxes(t *testing.T) {
	got := withoutHats([]evdev.Code{0, 1, 0x0f, 0x10, 0x11, 0x17, 0x18, 0x28})
	if want := []evdev.Code{0, 1, 0x0f, 0x18, 0x28}; !slices.Equal(got, want) {
		t.Errorf("axes %v, want %v", got, want)
	}
}

// The names and usages are those of linux/input-event-codes.h and of the HID
// usage tables' Generic Desktop page.
func TestAxesAreNamedByCode(t *testing.T) {
	for _, c := range []struct {
		code         evdev.Code
		label, usage string
	}{
		{0, "x", "0x010030"}, {5, "rz", "0x010035"}, {6, "throttle", ""},
		{7, "rudder", ""}, {10, "brake", ""}, {11, "abs-0b", ""}, {0x28, "abs-28", ""},
	} {
		a := systemAxis{code: c.code}
		if a.label() != c.label || a.usage() != c.usage {
			t.Errorf("code %#x is %q, %q, want %q, %q", c.code, a.label(), a.usage(), c.label, c.usage)
		}
	}
}

func TestKnownAxesCompleteTheHeader(t *testing.T) {
	f := Found{ID: "pedals", Counts: make([]int16, 1), system: []systemAxis{
		{code: 5, min: 0, max: 1023, filter: input.OSFilter{Fuzz: 3, Flat: 63}},
	}}
	f.Filters = []*input.OSFilter{f.system[0].lifted()}
	found := []Found{f}
	nameAll(found)
	devices, err := describe(found, Options{})
	if err != nil {
		t.Fatal(err)
	}
	got, err := json.Marshal(devices[0].Axes[0])
	if err != nil {
		t.Fatal(err)
	}
	want := `{"label":"rz","index":0,"kind":"two-sided","usage":"0x010035",` +
		`"os_filter":{"fuzz":0,"flat":0,"lifted":{"fuzz":3,"flat":63}},"raw_min":0,"raw_max":1023}`
	if string(got) != want {
		t.Errorf("the axis is\n%s, want\n%s", got, want)
	}
}

func TestNothingIsKnownWithoutAnEventFile(t *testing.T) {
	for _, path := range []string{"", "/dev/null", "/dev/input/none"} {
		f := Found{Path: path, Counts: make([]int16, 1)}
		f.readSystem()
		if f.system != nil || f.Filters != nil || f.lift() != nil {
			t.Errorf("%q has %v, %v", path, f.system, f.Filters)
		}
	}
	if err := (*systemFilter)(nil).restore(); err != nil {
		t.Error(err)
	}
}
