package rig

import (
	"fmt"
	"math/rand/v2"
	"strconv"
	"time"

	"halfstick/input"
)

// Rig is a simulated rig under a scripted hand. It is not safe for use by
// several goroutines at once.
type Rig struct {
	specs  []DeviceSpec
	seed   uint64
	script Script
	live   *Live // instead of the script

	axes    []*axis
	devices []*device
	ticks   int64 // integration steps done
	counts  []int16
}

// device keeps one device's reporting.
type device struct {
	first, count int // its axes within Rig.axes
	interval     float64
	sent         int64
	next         float64 // seconds
	jitter       *rand.Rand

	stalls, dropouts *outages
	gone             bool
	leaks            []leak
}

// leak is a Leak with its axes as places within Rig.axes.
type leak struct {
	from, to int
	share    float64
}

// reportJitter is how far a report may stray from its due time, as a share of
// the interval: a host polls an interrupt endpoint in steps of its own frame.
const reportJitter = 0.05

// New returns a rig with the given devices and no script: nobody touches it.
// The same specs, script and seed give the same counts at the same times.
func New(specs []DeviceSpec, seed uint64) (*Rig, error) {
	if err := checkSpecs(specs); err != nil {
		return nil, err
	}
	r := &Rig{specs: specs, seed: seed}
	for i, spec := range specs {
		d := &device{
			first: len(r.axes), count: len(spec.Axes),
			interval: 1 / spec.ReportHz,
			jitter:   rand.New(rand.NewPCG(seed, jitterStream+uint64(i))),
			stalls:   newOutages(spec.Stalls, seed, 2*uint64(i)),
			dropouts: newOutages(spec.Dropouts, seed, 2*uint64(i)+1),
		}
		for _, l := range spec.Leaks {
			d.leaks = append(d.leaks, leak{d.first + spec.axis(l.From), d.first + spec.axis(l.To), l.Share})
		}
		for _, a := range spec.Axes {
			r.axes = append(r.axes, newAxis(a, seed, uint64(len(r.axes))))
		}
		r.devices = append(r.devices, d)
	}
	r.counts = make([]int16, len(r.axes))
	for _, d := range r.devices {
		r.send(d, 0)
	}
	return r, nil
}

// Streams of chance: axes use the small numbers.
const (
	jitterStream  = 1 << 20
	flightStream  = 1 << 21
	specStream    = 1 << 22
	outageStream  = 1 << 23
	returnStream  = 1 << 24
	sessionStream = 1 << 25
)

// Describe names the rig, for a recording's source field.
func (r *Rig) Describe() string {
	return "simulated rig seed " + strconv.FormatUint(r.seed, 10)
}

// Devices lists the rig's devices in column order. The GUIDs are empty: they
// are the input library's to give.
func (r *Rig) Devices() []input.Device {
	var out []input.Device
	for _, spec := range r.specs {
		d := input.Device{ID: spec.ID, Name: spec.Name}
		for i, a := range spec.Axes {
			low, high := 0, a.maxCode()
			d.Axes = append(d.Axes, input.Axis{Label: a.Label, Index: i, Kind: a.Kind, RawMin: &low, RawMax: &high})
		}
		out = append(out, d)
	}
	return out
}

// SetScript gives the hand something to do, from time 0. It is an error to
// change the script of a rig that has moved.
func (r *Rig) SetScript(s Script) error {
	if r.ticks > 0 {
		return fmt.Errorf("the rig has been running for %v; set the script of a new rig", r.now())
	}
	r.script = s
	return nil
}

// Duration is the script's length; 0 without a script.
func (r *Rig) Duration() time.Duration { return r.script.Duration() }

// PhaseAt tells what the hand is doing at time t: the phase to label a row
// with that is sampled then.
func (r *Rig) PhaseAt(t time.Duration) input.Phase { return r.script.PhaseAt(t) }

func (r *Rig) now() time.Duration {
	return time.Duration(float64(r.ticks) * step * float64(time.Second))
}

// Advance runs the physics up to time to; an earlier time than before changes
// nothing. How the way there is cut up makes no difference.
func (r *Rig) Advance(to time.Duration) {
	goal := int64(to.Seconds()/step + 1e-6)
	cursor := r.script.cursor()
	for r.ticks < goal {
		t := float64(r.ticks) * step
		if r.live != nil {
			r.live.listen(t)
		}
		current, since := cursor.at(t)
		for i, a := range r.axes {
			if r.live != nil {
				r.live.advance(i, t)
				continue
			}
			target, held := 0.0, false
			if current != nil && i < len(current.Hands) && current.Hands[i] != nil {
				target, held = current.Hands[i](since)
			}
			a.advance(target, held)
		}
		r.ticks++
		t = float64(r.ticks) * step
		for _, d := range r.devices {
			d.gone = d.dropouts.at(t)
			if t < d.next {
				continue
			}
			if d.stalls.at(t) || d.gone {
				d.plan()
			} else {
				r.send(d, t)
			}
		}
	}
}

// send takes a reading of a device's axes and plans the next report. What leaks
// from one axis into another is counted from where the first is left alone.
func (r *Rig) send(d *device, t float64) {
	for i := d.first; i < d.first+d.count; i++ {
		a := r.axes[i]
		leaked := 0.0
		for _, l := range d.leaks {
			if l.to == i {
				leaked += l.share * r.axes[l.from].moved() * a.spec.span()
			}
		}
		r.counts[i] = scaleCounts(a.report(t, 1/d.interval, leaked), a.spec.maxCode())
	}
	d.plan()
}

// plan sets the time of the next report.
func (d *device) plan() {
	d.sent++
	d.next = d.interval * (float64(d.sent) + reportJitter*(2*d.jitter.Float64()-1))
}

// Counts copies the newest reported counts into dst, one an axis in column
// order, and returns how many it copied.
func (r *Rig) Counts(dst []int16) int { return copy(dst, r.counts) }

// Positions copies the true positions x of the grips into dst.
func (r *Rig) Positions(dst []float64) {
	for i := range dst[:min(len(dst), len(r.axes))] {
		dst[i] = r.axes[i].x
	}
}

// Present copies into dst which axes are there, in column order, and returns
// how many it copied. An axis is gone in its device's dropouts.
func (r *Rig) Present(dst []bool) int {
	n := 0
	for _, d := range r.devices {
		for range d.count {
			if n < len(dst) {
				dst[n] = !d.gone
				n++
			}
		}
	}
	return n
}

// Stalls lists the stalls of a device, by its place in Devices, that have begun
// so far, and Dropouts its dropouts.
func (r *Rig) Stalls(device int) []Interval   { return r.devices[device].stalls.past }
func (r *Rig) Dropouts(device int) []Interval { return r.devices[device].dropouts.past }
