package sdl

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"halfstick/input"
)

// axisNames are the default labels by index: the order of the usages in the
// HID usage tables' Generic Desktop page. Indices are not portable between
// systems, so they are names to tell axes apart by, not claims about them.
var axisNames = []string{"x", "y", "z", "rx", "ry", "rz", "slider", "dial", "wheel"}

func axisName(index int) string {
	if index < len(axisNames) {
		return axisNames[index]
	}
	return "axis-" + strconv.Itoa(index)
}

// longestSlug leaves room for a number within what input.ValidName allows.
const longestSlug = 48 // bytes

// slug turns a device's name into an id: lower-case letters and digits, all
// else one hyphen. Words beyond longestSlug are left out.
func slug(name string) string {
	words := strings.FieldsFunc(strings.ToLower(name), func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r)
	})
	id := strings.Join(words, "-")
	for len(id) > longestSlug && len(words) > 1 {
		words = words[:len(words)-1]
		id = strings.Join(words, "-")
	}
	if id == "" || len(id) > longestSlug {
		return "device"
	}
	return id
}

// unique returns want, or want with the first free number behind it, and
// takes it.
func unique(want string, taken map[string]bool) string {
	name := want
	for n := 2; taken[name]; n++ {
		name = want + "-" + strconv.Itoa(n)
	}
	taken[name] = true
	return name
}

// inOrder are the positions in found in the order in which ids are given:
// identical units by serial number and port, so that each gets the same id in
// every session, in whatever order they were plugged in.
func inOrder(found []Found) []int {
	order := make([]int, len(found))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		x, y := found[a], found[b]
		return cmp.Or(strings.Compare(x.Serial, y.Serial), strings.Compare(x.Port, y.Port))
	})
	return order
}

// nameAll fills in ids and default labels.
func nameAll(found []Found) {
	ids := map[string]bool{}
	for _, i := range inOrder(found) {
		f := &found[i]
		f.ID = unique(slug(f.Name), ids)
		f.Labels = make([]string, len(f.Counts))
		for a := range f.Labels {
			f.Labels[a] = axisName(a)
			if f.system != nil {
				f.Labels[a] = f.system[a].label()
			}
		}
	}
}

// choose returns the positions in found that want names; all if want is empty.
func choose(found []Found, want []string) ([]int, error) {
	if len(found) == 0 {
		return nil, NoDevices()
	}
	var picked []int
	taken := map[int]bool{}
	for _, w := range want {
		n := len(picked)
		for i, f := range found {
			if w != "" && (w == f.ID || strings.EqualFold(w, f.GUID) || w == f.Name || w == f.Serial || w == f.Port) {
				if !taken[i] {
					picked = append(picked, i)
					taken[i] = true
				}
				n = -1
			}
		}
		if n >= 0 {
			return nil, fmt.Errorf("no controller is called %q; there are: %s", w, idList(found))
		}
	}
	if len(want) == 0 {
		for i := range found {
			picked = append(picked, i)
		}
	}
	return picked, nil
}

func idList(found []Found) string {
	var ids []string
	for _, f := range found {
		ids = append(ids, f.ID)
	}
	return strings.Join(ids, ", ")
}

// describe turns the chosen controllers into a recording's devices: labels
// unique within the recording, renamed and given kinds as the options say.
func describe(found []Found, o Options) ([]input.Device, error) {
	labels, err := givenLabels(found, o.Labels)
	if err != nil {
		return nil, err
	}
	kindsUsed := map[string]bool{}
	var out []input.Device
	for _, f := range found {
		d := input.Device{ID: f.ID, Name: f.Name, GUID: f.GUID, Serial: f.Serial, Port: f.Port}
		for i, label := range f.Labels {
			given, ok := o.Labels[f.ID+"."+label]
			if !ok {
				given = unique(label, labels)
			}
			a := input.Axis{Label: given, Index: i, Kind: input.TwoSided}
			for _, key := range []string{given, f.ID + "." + given} {
				if kind, ok := o.Kinds[key]; ok {
					a.Kind, kindsUsed[key] = kind, true
				}
			}
			if i < len(f.Filters) {
				a.OSFilter = f.Filters[i]
			}
			if f.system != nil {
				f.system[i].complete(&a)
			}
			d.Axes = append(d.Axes, a)
		}
		out = append(out, d)
	}
	return out, checkKinds(o.Kinds, kindsUsed)
}

// givenLabels checks the labels that the person gives and returns them, taken.
func givenLabels(found []Found, given map[string]string) (map[string]bool, error) {
	axes := map[string]bool{}
	for _, f := range found {
		for _, label := range f.Labels {
			axes[f.ID+"."+label] = true
		}
	}
	taken := map[string]bool{}
	for _, key := range slices.Sorted(maps.Keys(given)) {
		label := given[key]
		switch {
		case !axes[key]:
			return nil, fmt.Errorf("no axis is called %q, which was to be labelled %q", key, label)
		case !input.ValidName(label):
			return nil, fmt.Errorf("label %q for %s cannot head a column; use up to 64 letters, digits and hyphens", label, key)
		case taken[label]:
			return nil, fmt.Errorf("label %q is given to two axes; labels are unique within a recording", label)
		}
		taken[label] = true
	}
	return taken, nil
}

func checkKinds(kinds map[string]input.Kind, used map[string]bool) error {
	for _, key := range slices.Sorted(maps.Keys(kinds)) {
		switch kind := kinds[key]; {
		case !used[key]:
			return fmt.Errorf("no axis is called %q, which was to be %s", key, kind)
		case kind != input.TwoSided && kind != input.OneSided:
			return fmt.Errorf("axis %s cannot be %q; use %q or %q", key, kind, input.TwoSided, input.OneSided)
		}
	}
	return nil
}
