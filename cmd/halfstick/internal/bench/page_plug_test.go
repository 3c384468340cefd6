package bench

import (
	"errors"
	"slices"
	"sync"
	"testing"

	"halfstick/input"
)

// ports are what is plugged in: a test plugs and unplugs, and rigs are opened of
// what is there.
type ports struct {
	mu     sync.Mutex
	there  []input.Device
	stuck  string // the id of one that is there and cannot be opened
	opened int
	polls  int // of the rig opened last
}

func (p *ports) plug(devices ...input.Device) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.there = append(slices.Clone(p.there), devices...)
}

func (p *ports) unplug(id string) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.there = slices.DeleteFunc(slices.Clone(p.there), func(d input.Device) bool { return d.ID == id })
}

// look is what a rig that is polled finds there.
func (p *ports) look() []input.Device {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.polls++
	return p.there
}

// opening is how often a rig was opened, and how often the last one was polled.
func (p *ports) opening() (times, polls int) {
	p.mu.Lock()
	defer p.mu.Unlock()
	return p.opened, p.polls
}

// polled waits until the rig opened last has given rows for so many seconds.
func (d *desk) polled(p *ports, seconds int) {
	d.t.Helper()
	_, before := p.opening()
	d.until("rows", func() bool { _, polls := p.opening(); return polls > before+seconds*testHz })
}

func (p *ports) open() (input.Source, error) {
	p.mu.Lock()
	defer p.mu.Unlock()
	var devices []input.Device
	for _, d := range p.there {
		if d.ID != p.stuck {
			devices = append(devices, d)
		}
	}
	if len(devices) == 0 {
		return nil, errors.New("no controller found: plug one in")
	}
	p.opened, p.polls = p.opened+1, 0
	known := map[string]bool{}
	for _, d := range devices {
		known[d.ID] = true
	}
	return &pluggedRig{ports: p, devices: devices, known: known, away: map[string]bool{}}, nil
}

// pluggedRig is a rig of what was there when it was opened.
type pluggedRig struct {
	ports       *ports
	devices     []input.Device
	known, away map[string]bool
	events      []input.Event
	polls       int
}

func (r *pluggedRig) Describe() string        { return "ports" }
func (r *pluggedRig) Devices() []input.Device { return r.devices }
func (r *pluggedRig) Close() error            { return nil }
func (r *pluggedRig) Events() []input.Event {
	events := r.events
	r.events = nil
	return events
}

func (r *pluggedRig) Poll(counts []int16, present []bool) error {
	there := r.ports.look()
	here := map[string]bool{}
	for _, d := range there {
		here[d.ID] = true
		if !r.known[d.ID] {
			r.known[d.ID] = true
			r.events = append(r.events, input.Event{Kind: input.Stranger, Device: d.Name})
		}
	}
	column := 0
	r.polls++
	for _, d := range r.devices {
		if r.away[d.ID] != !here[d.ID] {
			r.away[d.ID] = !here[d.ID]
			kind := input.Unplugged
			if here[d.ID] {
				kind = input.Plugged
			}
			r.events = append(r.events, input.Event{Kind: kind, Device: d.ID})
		}
		for range d.Axes {
			counts[column], present[column] = int16(20*r.polls%9000), here[d.ID]
			column++
		}
	}
	return nil
}

func device(id string, labels ...string) input.Device {
	d := input.Device{ID: id, Name: "Example " + id}
	for i, label := range labels {
		d.Axes = append(d.Axes, input.Axis{Label: label, Index: i, Kind: input.TwoSided})
	}
	return d
}

// railSays is an expression for what the rail says, an entry a line.
const railSays = `[...document.querySelectorAll("#rail h2, #rail button")].map((e) => e.innerText.replace(/\s+/g, " ").trim()).join("\n")`

// Controllers come and go without a hand on the mouse: the first one, a further
// one, one that is unplugged and comes back, and one that cannot be opened,
// which must not have the rig opened again and again.
func TestPageNoticesControllers(t *testing.T) {
	p := &ports{}
	c := config(t)
	c.Open = p.open
	page := run(t, c).browse()
	page.sees("that there is none, and what to do", `document.getElementById("norig").checkVisibility() && document.getElementById("norig").innerText.includes("goes on by itself when one is plugged in")`)
	p.plug(device("stick", "pitch", "roll"))
	page.sees("the first one", railSays+`=== "Example stick\npitch not recorded\nroll not recorded" && document.getElementById("norig").hidden`)
	p.plug(device("pedals", "rudder"))
	page.sees("the further one", railSays+`=== "Example stick\npitch not recorded\nroll not recorded\nExample pedals\nrudder not recorded"`)
	p.unplug("pedals")
	page.sees("that it is unplugged", railSays+`=== "Example stick\npitch not recorded\nroll not recorded\nExample pedals unplugged\nrudder not recorded unplugged"`)
	eval[bool](page, `[...document.querySelectorAll("#rail button")].at(-1).click(), true`)
	page.sees("no reading of it", `document.getElementById("now-axis").textContent === "rudder" && document.getElementById("now-counts").textContent === "–"`)
	p.plug(device("pedals", "rudder"))
	page.sees("that it is back", `!document.getElementById("rail").innerText.includes("unplugged") && document.getElementById("now-counts").textContent !== "–"`)
	opened, _ := p.opening()
	if opened != 2 {
		t.Errorf("the rig was opened %d times, want 2: at the beginning and for the pedals", opened)
	}

	page.polled(p, 2) // what was there when the rig was opened shows before
	p.mu.Lock()
	p.stuck = "lever"
	p.mu.Unlock()
	p.plug(device("lever", "throttle"))
	page.sees("that it cannot be opened", `document.getElementById("notice").textContent.includes("Example lever is plugged in and cannot be opened")`)
	page.polled(p, 3)
	if now, _ := p.opening(); now != opened+1 {
		t.Errorf("the rig was opened %d times for one that cannot be opened", now-opened)
	}
}

// While something records, the rig is left alone: what comes waits for its end,
// and what goes may come back.
func TestRigStaysWhileRecorded(t *testing.T) {
	p := &ports{}
	p.plug(device("stick", "pitch"))
	c := config(t)
	c.Open = p.open
	d := run(t, c)
	d.until("there is a rig", func() bool { return d.sampler.now().Number != 0 })
	if err := d.post("/flight", map[string]any{"do": "begin"}, nil); err != nil {
		t.Fatal(err)
	}
	d.polled(p, 2)
	if err := d.post("/look", map[string]any{}, nil); err == nil {
		t.Error("the rig was to be opened anew while a flight is recorded")
	}
	p.plug(device("pedals", "rudder"))
	d.until("that is said", func() bool { return d.stateNow().Notice != "" })
	p.unplug("stick")
	d.until("that it is gone", func() bool { return d.stateNow().Devices[0].Away })
	d.polled(p, int(goneAfter.Seconds())+2)
	p.plug(device("stick", "pitch"))
	d.until("that it is back", func() bool { return !d.stateNow().Devices[0].Away })
	if opened, _ := p.opening(); opened != 1 || !d.stateNow().Flying {
		t.Fatalf("the rig was opened %d times, the flight goes on: %v", opened, d.stateNow().Flying)
	}
	if err := d.post("/flight", map[string]any{"do": "end"}, nil); err != nil {
		t.Fatal(err)
	}
	d.until("both are there", func() bool { return len(d.stateNow().Devices) == 2 })
}
