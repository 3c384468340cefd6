package sdl

import (
	"encoding/json"
	"io/fs"
	"os"
	"runtime"
	"slices"
	"strings"
	"syscall"
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

// A controller without any filter may be one whose recording was killed.
func TestControllerWithoutAFilter(t *testing.T) {
	axis := func(top, fuzz, flat int) systemAxis {
		return systemAxis{max: top, filter: input.OSFilter{Fuzz: fuzz, Flat: flat}}
	}
	for _, c := range []struct {
		axes []systemAxis
		want bool
	}{
		{nil, false},
		{[]systemAxis{axis(1023, 0, 0), axis(255, 0, 0)}, true},
		{[]systemAxis{axis(1023, 0, 0), axis(255, 0, 15)}, false},
		{[]systemAxis{axis(1023, 3, 0)}, false},
		{[]systemAxis{axis(1023, 0, 0), axis(15, 0, 0)}, false}, // the kernel's flat rounds to 0
	} {
		if got := unfiltered(c.axes); got != c.want {
			t.Errorf("%+v counts as without a filter: %v", c.axes, got)
		}
	}
}

// A filter that cannot be lifted stays in the header, with why and what to do.
func TestFilterThatCannotBeLiftedIsNoted(t *testing.T) {
	found := func() Found {
		f := Found{Path: "/dev/input/event5", Counts: make([]int16, 2), system: []systemAxis{
			{code: 0, filter: input.OSFilter{Fuzz: 3, Flat: 63}}, {code: 1},
		}}
		for i := range f.system {
			f.Filters = append(f.Filters, &f.system[i].filter)
		}
		return f
	}
	defer func() { openFile = evdev.Open }()
	for err, want := range map[error]string{
		&fs.PathError{Op: "open", Path: "/dev/input/event5", Err: syscall.EACCES}: "permission denied; allow it with: sudo usermod -aG input $USER (then log out and in again)",
		syscall.ENODEV: "no such device",
	} {
		openFile = func(string) (*evdev.Node, error) { return nil, err }
		f := found()
		if f.lift() != nil {
			t.Error("a filter counts as lifted that was not")
		}
		if got := f.Filters[0]; got.Fuzz != 3 || got.Flat != 63 || got.Left != want {
			t.Errorf("the filter is %+v, want it left because %s", got, want)
		}
		if f.Filters[1].Left != "" {
			t.Errorf("an axis without a filter has %+v", f.Filters[1])
		}
	}
	// A file that is none of the kernel's event files takes no request.
	openFile = func(string) (*evdev.Node, error) { return evdev.Open(os.DevNull) }
	if f := found(); f.lift() != nil || !strings.Contains(f.Filters[0].Left, os.DevNull) {
		t.Errorf("the filter is %+v", f.Filters[0])
	}
}

func TestNothingIsKnownWithoutAnEventFile(t *testing.T) {
	for _, path := range []string{"", "/dev/null", "/dev/input/none"} {
		f := Found{Path: path, Counts: make([]int16, 1)}
		f.readSystem()
		if f.system != nil || f.Filters != nil || f.lift() != nil {
			t.Errorf("%q has %v, %v", path, f.system, f.Filters)
		}
		if said := slices.ContainsFunc(f.Notes, func(note string) bool { return strings.Contains(note, "no such file") }); said != (path == "/dev/input/none") && runtime.GOOS == "linux" {
			t.Errorf("%q has notes %q", path, f.Notes)
		}
	}
	if err := (*systemFilter)(nil).restore(); err != nil {
		t.Error(err)
	}
}
