package bench

import (
	"slices"

	"halfstick/input"
)

// rigNow is the rig as it is, under the names and kinds of the recording that
// is looked at: a guided recording names axes that the system only numbers.
func (b *Bench) rigNow() sampled {
	rig := b.sampler.now()
	if a := b.analysis.Load(); a != nil {
		rig.Devices = named(rig.Devices, a.sheet.Recordings[0].Header.Devices)
	}
	return rig
}

// named gives live axes the labels and kinds of the recorded ones at the same
// place of the same device. A label that this would give twice is left as it
// was.
func named(live, recorded []input.Device) []input.Device {
	out := slices.Clone(live)
	taken := map[string]bool{}
	for i := range out {
		d := &out[i]
		d.Axes = slices.Clone(d.Axes)
		from := sameDevice(*d, recorded)
		for k := range d.Axes {
			a := &d.Axes[k]
			if at := slices.IndexFunc(from.Axes, func(r input.Axis) bool { return r.Index == a.Index }); at >= 0 && !taken[from.Axes[at].Label] {
				a.Label, a.Kind = from.Axes[at].Label, from.Axes[at].Kind
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
