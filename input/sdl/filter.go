package sdl

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"sync/atomic"
	"syscall"
	"time"

	"halfstick/input"
	"halfstick/input/evdev"
)

// systemAxis is what the operating system knows of one axis.
type systemAxis struct {
	code     evdev.Code
	min, max int
	filter   input.OSFilter
}

// readSystem takes down what the operating system knows of the controller's
// axes, in SDL's order, and leaves it out where that cannot be known: on
// systems without event files, for virtual joysticks, and where SDL counts
// other axes than the kernel.
func (f *Found) readSystem() {
	f.Notes = append(f.Notes, systemNotes(f.Virtual)...)
	if f.Path == "" {
		return
	}
	node, err := evdev.Open(f.Path)
	if err != nil {
		if !errors.Is(err, errors.ErrUnsupported) {
			f.Notes = append(f.Notes, "what the system hides is not known: "+whyNot(err))
		}
		return
	}
	defer node.Close()
	if f.Serial == "" {
		f.Serial, _ = node.Uniq() // unknown is as good as none
	}
	f.Port, _ = node.Phys()
	known, err := systemAxes(node)
	if err != nil {
		return
	}
	if len(known) != len(f.Counts) {
		f.Notes = append(f.Notes, fmt.Sprintf("SDL shows %d axes and the system %d: SDL leaves out some axes of controllers with hat switches; what the system hides of these is not known",
			len(f.Counts), len(known)))
		return
	}
	f.system = known
	if unfiltered(known) {
		f.Notes = append(f.Notes, "the system hides nothing of this controller. As a rule it does: a recording may be under way, or one was killed, which leaves it so until the controller is unplugged")
	}
	for i := range known {
		f.Filters = append(f.Filters, &known[i].filter)
		f.Usages = append(f.Usages, known[i].usage())
	}
}

// unfiltered tells whether no axis has a filter although each is so fine that
// the kernel gives one to every HID joystick's (hidinput_configure_usage in
// drivers/hid/hid-input.c of Linux 6.1: a flat of 1/16 of the range). Other
// drivers may set none.
func unfiltered(axes []systemAxis) bool {
	const steps = 16
	for _, a := range axes {
		if a.filter.Fuzz != 0 || a.filter.Flat != 0 || a.max-a.min < steps {
			return false
		}
	}
	return len(axes) > 0
}

// whyNot says what stands in the way of an event file, and what lets one at it.
func whyNot(err error) string {
	if !errors.Is(err, fs.ErrPermission) {
		return err.Error()
	}
	return "permission denied; allow it with: " + evdev.Allow + " (then log out and in again)"
}

func systemAxes(node *evdev.Node) ([]systemAxis, error) {
	codes, err := node.Codes()
	if err != nil {
		return nil, err
	}
	var known []systemAxis
	for _, code := range withoutHats(codes) {
		info, err := node.Abs(code)
		if err != nil {
			return nil, err
		}
		known = append(known, systemAxis{
			code: code, min: int(info.Minimum), max: int(info.Maximum),
			filter: input.OSFilter{Fuzz: int(info.Fuzz), Flat: int(info.Flat)},
		})
	}
	return known, nil
}

// The codes of hats (ABS_HAT0X…ABS_HAT3Y), which SDL does not count as axes;
// all others are its axes, by rising code.
const (
	firstHat evdev.Code = 0x10
	lastHat  evdev.Code = 0x17
)

func withoutHats(codes []evdev.Code) []evdev.Code {
	return slices.DeleteFunc(slices.Clone(codes), func(code evdev.Code) bool {
		return code >= firstHat && code <= lastHat
	})
}

// codeNames are the default labels by code, after
// linux/input-event-codes.h. A slider comes as throttle and a dial as rudder:
// the kernel does not tell them apart.
var codeNames = []string{"x", "y", "z", "rx", "ry", "rz", "throttle", "rudder", "wheel", "accelerator", "brake"}

func (a systemAxis) label() string {
	if int(a.code) < len(codeNames) {
		return codeNames[a.code]
	}
	return fmt.Sprintf("abs-%02x", byte(a.code))
}

// usage is the HID usage, page and id, where the code stands for only one: X
// to Rz of the Generic Desktop page.
func (a systemAxis) usage() string {
	const lastOfOne = 5 // ABS_RZ
	if a.code > lastOfOne {
		return ""
	}
	return fmt.Sprintf("0x%06x", 0x010030+int(a.code))
}

// complete adds to an axis of a recording what is known of it.
func (a systemAxis) complete(axis *input.Axis) {
	low, high := a.min, a.max
	axis.RawMin, axis.RawMax, axis.Usage = &low, &high, a.usage()
}

// lifted is the axis's filter once it is lifted: nothing, beside what it was.
func (a systemAxis) lifted() *input.OSFilter {
	if a.filter.Fuzz == 0 && a.filter.Flat == 0 {
		return &input.OSFilter{}
	}
	was, err := json.Marshal(a.filter)
	if err != nil {
		panic(err) // two numbers always have a JSON form
	}
	return &input.OSFilter{Extra: map[string]json.RawMessage{"lifted": was}}
}

// openFile is how event files are opened; tests put in others.
var openFile = evdev.Open

// systemFilter is a filter that was lifted and is to be put back. Meanwhile
// another recording that ends may put it back, so a goroutine of its own looks
// now and then: a request to the kernel can take its time.
type systemFilter struct {
	node    *evdev.Node
	before  evdev.Filter // the goroutine's until guarded is closed
	stop    chan struct{}
	guarded chan struct{}
	again   atomic.Bool // it was lifted again
}

// guardEvery is how often a filter is looked after.
const guardEvery = time.Second

func guard(node *evdev.Node, before evdev.Filter) *systemFilter {
	f := &systemFilter{node: node, before: before, stop: make(chan struct{}), guarded: make(chan struct{})}
	go func() {
		defer close(f.guarded)
		tick := time.NewTicker(guardEvery)
		defer tick.Stop()
		for {
			select {
			case <-f.stop:
				return
			case <-tick.C:
			}
			found, err := f.before.Renew(node)
			if found {
				f.again.Store(true)
			}
			if err != nil {
				return // unplugged, as a rule; restore says if it is not
			}
		}
	}()
	return f
}

// liftedAgain tells once that the filter had been put back. A nil filter never
// is.
func (f *systemFilter) liftedAgain() bool { return f != nil && f.again.Swap(false) }

// leave says in Filters why what is hidden stays so.
func (f *Found) leave(why string) {
	for _, filter := range f.Filters {
		if filter.Fuzz != 0 || filter.Flat != 0 {
			filter.Left = why
		}
	}
}

// lift lifts the operating system's filter of the controller and says so in
// Filters. Where that is not possible it returns nil, and Filters go on saying
// what is hidden, and why.
func (f *Found) lift() *systemFilter {
	if f.system == nil {
		return nil
	}
	node, err := openFile(f.Path)
	if err != nil {
		f.leave(whyNot(err))
		return nil
	}
	before, err := evdev.ReadFilter(node)
	if err == nil {
		err = before.Lift(node)
	}
	if err != nil {
		_ = node.Close()
		f.leave(whyNot(err))
		return nil
	}
	for i, axis := range f.system {
		f.Filters[i] = axis.lifted()
	}
	return guard(node, before)
}

// restore puts the filter back. A controller that was unplugged has its own
// again when it comes back. A nil filter needs nothing.
func (f *systemFilter) restore() error {
	if f == nil {
		return nil
	}
	close(f.stop)
	<-f.guarded
	err := f.before.Restore(f.node)
	if errors.Is(err, syscall.ENODEV) {
		err = nil
	}
	return errors.Join(err, f.node.Close())
}
