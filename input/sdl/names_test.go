package sdl

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"halfstick/input"
)

// twins are two identical units and one without a name.
func twins() []Found {
	f := []Found{
		{Name: "Example  Stick (2)", GUID: "0300aa", Counts: make([]int16, 2)},
		{Name: "Example Stick 2", GUID: "0300aa", Counts: make([]int16, 3)},
		{Name: "", GUID: "0300bb", Counts: make([]int16, 11)},
	}
	nameAll(f)
	return f
}

// Twins get their ids by serial number, else by port, whichever was plugged in
// first, and can be chosen by either.
func TestTwinsKeepTheirIDs(t *testing.T) {
	unit := func(serial, port string) Found {
		return Found{Name: "Example Pedals", GUID: "0300aa", Serial: serial, Port: port, Counts: make([]int16, 1)}
	}
	for _, units := range [][2]Found{
		{unit("P-1", "port-2"), unit("P-2", "port-1")},
		{unit("", "port-1"), unit("", "port-2")},
	} {
		first, second := units[0], units[1]
		for _, f := range [][]Found{{first, second}, {second, first}} {
			nameAll(f)
			for _, u := range f {
				want := "example-pedals"
				if u.Serial == second.Serial && u.Port == second.Port {
					want = "example-pedals-2"
				}
				if u.ID != want {
					t.Errorf("the unit %q in %q is called %s, want %s", u.Serial, u.Port, u.ID, want)
				}
			}
			picked, err := choose(f, []string{second.Port})
			if err != nil || len(picked) != 1 || f[picked[0]].Port != second.Port {
				t.Errorf("by port %v, %v", picked, err)
			}
			if second.Serial == "" {
				continue
			}
			devices, err := describe(f, Options{})
			if err != nil || devices[0].Serial != f[0].Serial || devices[0].Port != f[0].Port {
				t.Errorf("the header has %+v, %v", devices, err)
			}
			if picked, err := choose(f, []string{second.Serial}); err != nil || len(picked) != 1 || f[picked[0]].Serial != second.Serial {
				t.Errorf("by serial %v, %v", picked, err)
			}
		}
	}
}

func TestIDsAndLabels(t *testing.T) {
	f := twins()
	var ids []string
	for _, v := range f {
		ids = append(ids, v.ID)
	}
	if want := []string{"example-stick-2", "example-stick-2-2", "device"}; !slices.Equal(ids, want) {
		t.Errorf("ids %q, want %q", ids, want)
	}
	if l := f[2].Labels; l[0] != "x" || l[8] != "wheel" || l[10] != "axis-10" {
		t.Errorf("labels %q", l)
	}
	d, err := describe(f[:2], Options{Labels: map[string]string{"example-stick-2-2.z": "twist", "example-stick-2.x": "y"}})
	if err != nil {
		t.Fatal(err)
	}
	var labels []string
	for _, v := range d {
		for i, a := range v.Axes {
			labels = append(labels, a.Label)
			if a.Index != i || a.Kind != input.TwoSided {
				t.Errorf("axis %s: index %d, kind %s", a.Label, a.Index, a.Kind)
			}
		}
	}
	// y is given to the first axis, so the ones called y by default give way.
	if want := []string{"y", "y-2", "x", "y-3", "twist"}; !slices.Equal(labels, want) {
		t.Errorf("labels %q, want %q", labels, want)
	}
}

// Whatever a device calls itself, its id can head a column.
func TestSlugsAreValidIDs(t *testing.T) {
	long := strings.Repeat("stick ", 20)
	for name, want := range map[string]string{
		"Example Stick":           "example-stick",
		"  --  ":                  "device",
		"\xff\xfe":                "device",
		"Stößel-9":                "stößel-9",
		long:                      "stick-stick-stick-stick-stick-stick-stick-stick",
		strings.Repeat("x", 1000): "device",
	} {
		got := slug(name)
		if got != want || !input.ValidName(got+"-99") {
			t.Errorf("slug of %q is %q, want %q", name, got, want)
		}
	}
}

func TestChoose(t *testing.T) {
	f := twins()
	for want, picked := range map[string][]int{
		"":                  {0, 1, 2},
		"device":            {2},
		"0300AA":            {0, 1}, // identical units share their GUID
		"device,device":     {2},
		"example-stick-2-2": {1},
	} {
		var names []string
		if want != "" {
			names = strings.Split(want, ",")
		}
		if got, err := choose(f, names); err != nil || !slices.Equal(got, picked) {
			t.Errorf("choose %q: %v, %v; want %v", want, got, err, picked)
		}
	}
	if _, err := choose(nil, nil); !errors.Is(err, ErrNoDevices) {
		t.Errorf("choose from nothing: %v", err)
	}
	if _, err := choose(f, []string{"yoke"}); err == nil {
		t.Error("an unknown id was chosen")
	}
}

func TestDescribeRefuses(t *testing.T) {
	f := twins()
	for _, o := range []Options{
		{Labels: map[string]string{"example-stick-2.x": "a", "example-stick-2.y": "a"}},
		{Labels: map[string]string{"example-stick-2.rz": "a"}},
		{Labels: map[string]string{"example-stick-2.x": "a.b"}},
		{Labels: map[string]string{"example-stick-2.x": ""}},
		{Kinds: map[string]input.Kind{"rudder": input.OneSided}},
		{Kinds: map[string]input.Kind{"x": "three-sided"}},
	} {
		if d, err := describe(f[:1], o); err == nil {
			t.Errorf("%+v: accepted as %+v", o, d)
		}
	}
	filter := &input.OSFilter{Fuzz: 3, Flat: 63}
	f[0].Filters = []*input.OSFilter{nil, filter}
	d, err := describe(f[:1], Options{Kinds: map[string]input.Kind{"example-stick-2.y": input.OneSided}})
	if err != nil {
		t.Fatal(err)
	}
	if a := d[0].Axes; a[0].OSFilter != nil || a[1].OSFilter != filter || a[0].Kind != input.TwoSided || a[1].Kind != input.OneSided {
		t.Errorf("described as %+v", a)
	}
}
