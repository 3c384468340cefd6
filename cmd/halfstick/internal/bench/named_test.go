package bench

import (
	"reflect"
	"testing"

	"halfstick/input"
)

func TestLiveAxesHaveTheRecordedNames(t *testing.T) {
	device := func(id, guid string, labels ...string) input.Device {
		d := input.Device{ID: id, GUID: guid}
		for i, l := range labels {
			d.Axes = append(d.Axes, input.Axis{Label: l, Index: i, Kind: input.TwoSided})
		}
		return d
	}
	labels := func(devices []input.Device) (out []string) {
		for _, d := range devices {
			for _, a := range d.Axes {
				out = append(out, a.Label)
			}
		}
		return out
	}
	recorded := []input.Device{device("stick", "03aa", "roll", "pitch"), device("pedals", "03bb", "yaw")}
	recorded[1].Axes[0].Kind = input.OneSided
	for name, c := range map[string]struct {
		live []input.Device
		want []string
	}{
		"the same":              {[]input.Device{device("stick", "03aa", "x", "y"), device("pedals", "03bb", "z")}, []string{"roll", "pitch", "yaw"}},
		"one axis more":         {[]input.Device{device("stick", "03aa", "x", "y", "z")}, []string{"roll", "pitch", "z"}},
		"another id":            {[]input.Device{device("stick-2", "03aa", "x")}, []string{"roll"}},
		"another device":        {[]input.Device{device("stick", "03cc", "x")}, []string{"x"}},
		"a twin":                {[]input.Device{device("stick", "03aa", "x"), device("stick-2", "03aa", "x2")}, []string{"roll", "x2"}},
		"without any GUID":      {[]input.Device{device("pedals", "", "z")}, []string{"yaw"}},
		"nothing of all":        {nil, nil},
		"an unknown, by itself": {[]input.Device{device("lever", "", "a")}, []string{"a"}},
	} {
		if got := labels(named(c.live, recorded, nil)); !reflect.DeepEqual(got, c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
	live := []input.Device{device("pedals", "03bb", "z")}
	if got := named(live, recorded, nil); got[0].Axes[0].Kind != input.OneSided || live[0].Axes[0].Label != "z" {
		t.Errorf("kind %s; the live device became %s", got[0].Axes[0].Kind, live[0].Axes[0].Label)
	}
}
