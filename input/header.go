package input

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"math"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// Header is the JSON line of a recording.
type Header struct {
	Started time.Time `json:"started"`
	// RateHz is the rate asked for, rows per second, above 0.
	RateHz float64 `json:"rate_hz"`
	// Source names the input library and the system.
	Source  string   `json:"source"`
	Devices []Device `json:"devices"`
	// FlownWith is the profile that was active during flight phases, kept as
	// it came; nil means straight-through.
	FlownWith json.RawMessage `json:"flown_with,omitempty"`
	// Extra holds the header fields that this version does not know.
	Extra map[string]json.RawMessage `json:"-"`
	// Comments are the further comment lines before the column names, without
	// their '#'.
	Comments []string `json:"-"`
}

// MarshalJSON writes the fields of the file, then the unknown ones by name.
func (h Header) MarshalJSON() ([]byte, error) {
	type plain Header
	return withExtra(plain(h), h.Extra)
}

// MarshalJSON writes the fields of the file, then the unknown ones by name.
func (d Device) MarshalJSON() ([]byte, error) {
	type plain Device
	p := plain(d)
	if p.Axes == nil {
		p.Axes = []Axis{}
	}
	return withExtra(p, d.Extra)
}

// MarshalJSON writes the fields of the file, then the unknown ones by name.
func (a Axis) MarshalJSON() ([]byte, error) {
	type plain Axis
	return withExtra(plain(a), a.Extra)
}

// MarshalJSON writes the fields of the file, then the unknown ones by name.
func (f OSFilter) MarshalJSON() ([]byte, error) {
	type plain OSFilter
	return withExtra(plain(f), f.Extra)
}

// withExtra writes a struct without methods, followed by the extra fields.
func withExtra(v any, extra map[string]json.RawMessage) ([]byte, error) {
	out, err := marshal(v)
	if err != nil || len(extra) == 0 {
		return out, err
	}
	known := fieldNames(reflect.TypeOf(v))
	out = out[:len(out)-1] // the closing brace
	for _, name := range slices.Sorted(maps.Keys(extra)) {
		if known[name] {
			continue
		}
		key, err := marshal(name)
		if err != nil {
			return nil, err
		}
		out = append(append(append(append(out, ','), key...), ':'), extra[name]...)
	}
	return append(out, '}'), nil
}

// marshal is json.Marshal without the escapes that only a browser needs: they
// would change unknown fields that are written back.
func marshal(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(v); err != nil {
		return nil, err
	}
	return bytes.TrimSuffix(b.Bytes(), []byte("\n")), nil
}

// fieldNames lists the JSON names of a struct's fields.
func fieldNames(t reflect.Type) map[string]bool {
	names := map[string]bool{}
	for i := range t.NumField() {
		name, _, _ := strings.Cut(t.Field(i).Tag.Get("json"), ",")
		if name != "-" {
			names[name] = true
		}
	}
	return names
}

// maxAxes is far above what a desk holds. Measuring takes tables of a fixed
// size for each axis, so that a short file of very many axes would fill the
// memory.
const maxAxes = 256

const headerRemedy = "correct this field of the header line"

// parseHeader reads the JSON line. The problem's path leads to the field.
func parseHeader(text []byte) (Header, *problem) {
	if !utf8.Valid(text) {
		return Header{}, &problem{want: "the header as UTF-8", found: "bytes that are not",
			remedy: "save the file as UTF-8"}
	}
	o, bad := parseObject(text, "")
	if bad != nil {
		return Header{}, bad
	}
	var h Header
	o.take("started", "a time as in 2026-11-25T10:00:00Z", required, &h.Started)
	o.take("rate_hz", "a number above 0", required, &h.RateHz)
	o.take("source", "a string", required, &h.Source)
	o.takeRaw("flown_with", &h.FlownWith)
	for i, raw := range o.takeList("devices", "a list of devices") {
		d, bad := parseDevice(raw, fmt.Sprintf("devices[%d]", i))
		o.note(bad)
		h.Devices = append(h.Devices, d)
	}
	h.Extra = o.rest()
	if o.bad == nil {
		o.note(h.check())
	}
	return h, o.bad
}

func parseDevice(text []byte, path string) (Device, *problem) {
	o, bad := parseObject(text, path)
	if bad != nil {
		return Device{}, bad
	}
	var d Device
	o.take("id", "a string", required, &d.ID)
	o.take("name", "a string", required, &d.Name)
	o.take("guid", "a string", required, &d.GUID)
	o.take("serial", "a string", optional, &d.Serial)
	o.take("port", "a string", optional, &d.Port)
	for i, raw := range o.takeList("axes", "a list of axes") {
		a, bad := parseAxis(raw, fmt.Sprintf("%s.axes[%d]", path, i))
		o.note(bad)
		d.Axes = append(d.Axes, a)
	}
	d.Extra = o.rest()
	return d, o.bad
}

func parseAxis(text []byte, path string) (Axis, *problem) {
	o, bad := parseObject(text, path)
	if bad != nil {
		return Axis{}, bad
	}
	var a Axis
	o.take("label", "a string", required, &a.Label)
	o.take("index", "a whole number", required, &a.Index)
	o.take("kind", kindWanted, required, &a.Kind)
	o.take("usage", "a string", optional, &a.Usage)
	if raw, ok := o.pop("os_filter"); ok {
		f, bad := parseFilter(raw, path+".os_filter")
		o.note(bad)
		a.OSFilter = &f
	}
	o.take("raw_min", "a whole number", optional, &a.RawMin)
	o.take("raw_max", "a whole number", optional, &a.RawMax)
	a.Extra = o.rest()
	return a, o.bad
}

func parseFilter(text []byte, path string) (OSFilter, *problem) {
	o, bad := parseObject(text, path)
	if bad != nil {
		return OSFilter{}, bad
	}
	var f OSFilter
	o.take("fuzz", "a whole number", required, &f.Fuzz)
	o.take("flat", "a whole number", required, &f.Flat)
	o.take("left", "a string", optional, &f.Left)
	f.Extra = o.rest()
	return f, o.bad
}

const kindWanted = `"two-sided" or "one-sided"`

// check reports the first thing about a header that breaks the format. Reader
// and writer share it, so that nothing is written that cannot be read.
func (h Header) check() *problem {
	if !(h.RateHz > 0) || math.IsInf(h.RateHz, 0) {
		return &problem{"rate_hz", "a number above 0", strconv.FormatFloat(h.RateHz, 'g', -1, 64), headerRemedy}
	}
	if y := h.Started.Year(); y < 0 || y > 9999 {
		return &problem{"started", "a year from 0 to 9999", strconv.Itoa(y), headerRemedy}
	}
	switch n := axisCount(h.Devices); {
	case n == 0:
		return &problem{"devices", "at least one device with an axis", "none", "record a device that has axes"}
	case n > maxAxes:
		return &problem{"devices", fmt.Sprintf("at most %d axes", maxAxes), strconv.Itoa(n), "record fewer devices at once"}
	}
	ids, labels := map[string]string{}, map[string]string{}
	for i, d := range h.Devices {
		path := fmt.Sprintf("devices[%d]", i)
		if bad := checkName(path+".id", d.ID, ids); bad != nil {
			return bad
		}
		if bad := d.check(path, labels); bad != nil {
			return bad
		}
	}
	return nil
}

func (d Device) check(path string, labels map[string]string) *problem {
	indices := map[int]bool{}
	for i, a := range d.Axes {
		at := fmt.Sprintf("%s.axes[%d]", path, i)
		if bad := checkName(at+".label", a.Label, labels); bad != nil {
			return bad
		}
		if a.Index < 0 || indices[a.Index] {
			return &problem{at + ".index", "an index from 0 that no other axis of the device has",
				strconv.Itoa(a.Index), headerRemedy}
		}
		indices[a.Index] = true
		if bad := a.check(at); bad != nil {
			return bad
		}
	}
	return nil
}

func (a Axis) check(path string) *problem {
	if a.Kind != TwoSided && a.Kind != OneSided {
		return &problem{path + ".kind", kindWanted, show(string(a.Kind)), headerRemedy}
	}
	if a.Usage != "" && !validUsage(a.Usage) {
		return &problem{path + ".usage", "a HID usage as in 0x0200ba", show(a.Usage), headerRemedy}
	}
	if f := a.OSFilter; f != nil && (f.Fuzz < 0 || f.Flat < 0) {
		return &problem{path + ".os_filter", "fuzz and flat of 0 or more",
			fmt.Sprintf("%d and %d", f.Fuzz, f.Flat), headerRemedy}
	}
	if a.RawMin != nil && a.RawMax != nil && *a.RawMin >= *a.RawMax {
		return &problem{path + ".raw_max", fmt.Sprintf("more than raw_min (%d)", *a.RawMin),
			strconv.Itoa(*a.RawMax), headerRemedy}
	}
	return nil
}

func validUsage(s string) bool {
	digits, ok := strings.CutPrefix(s, "0x")
	_, err := strconv.ParseUint(digits, 16, 32)
	return ok && err == nil
}

// checkName sees to it that a name is valid and that seen does not have it.
func checkName(path, name string, seen map[string]string) *problem {
	if !ValidName(name) {
		return &problem{path, fmt.Sprintf("1 to %d letters, digits, '-' or '_'", maxName), show(name), headerRemedy}
	}
	if before, ok := seen[name]; ok {
		return &problem{path, "a name used once in the recording", show(name) + " as at " + before, "rename one of the two"}
	}
	seen[name] = path
	return nil
}
