package bench

import (
	"slices"

	"halfstick/cmd/halfstick/internal/bench/session"
	"halfstick/input"
)

// rigNow is the rig as it is, under the names and kinds of the recording that
// is looked at: a guided recording names axes that the system only numbers.
// What no recording has goes by the names that the person gave it on the page.
func (b *Bench) rigNow() sampled {
	rig := b.sampler.now()
	var recorded []input.Device
	if a := b.analysis.Load(); a != nil {
		recorded = a.sheet.Recordings[0].Header.Devices
	}
	rig.Devices = named(rig.Devices, recorded, b.session.Names())
	return rig
}

// named gives live axes the labels and kinds of the recorded ones at the same
// place of the same device, or else those that a person gave them. A label that
// this would give twice is left as it was.
func named(live, recorded []input.Device, given []session.AxisName) []input.Device {
	out := slices.Clone(live)
	taken := map[string]bool{}
	for i := range out {
		d := &out[i]
		d.Axes = slices.Clone(d.Axes)
		from := sameDevice(*d, recorded)
		for k := range d.Axes {
			a := &d.Axes[k]
			label, kind := a.Label, a.Kind
			if at := slices.IndexFunc(from.Axes, func(r input.Axis) bool { return r.Index == a.Index }); at >= 0 {
				label, kind = from.Axes[at].Label, from.Axes[at].Kind
			} else if at := slices.IndexFunc(given, func(n session.AxisName) bool { return n.Device == d.ID && n.Index == a.Index }); at >= 0 {
				label, kind = given[at].Label, given[at].Kind
			}
			if !taken[label] {
				a.Label, a.Kind = label, kind
			}
			taken[a.Label] = true
		}
	}
	return out
}

// sameDevice finds a live device among the recorded ones: by its id, which
// tells twins apart, and where both have one by its GUID.
func sameDevice(live input.Device, recorded []input.Device) input.Device {
	fits := func(d input.Device) bool { return d.GUID == "" || live.GUID == "" || d.GUID == live.GUID }
	for _, d := range recorded {
		if d.ID == live.ID && fits(d) {
			return d
		}
	}
	for _, d := range recorded {
		if d.GUID != "" && d.GUID == live.GUID {
			return d
		}
	}
	return input.Device{}
}
