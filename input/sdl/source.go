//go:build cgo

package sdl

import (
	"errors"
	"fmt"
	"runtime"

	native "github.com/veandco/go-sdl2/sdl"

	"halfstick/input"
)

// hints are set before SDL starts, each whatever its default: readings go on
// while the simulator has the focus; the operating system's joystick interface
// is used, not SDL's own drivers, so that counts are the same as for others;
// neither SDL's deadzones nor the old joystick interface alter them; and
// Ctrl-C stays ours.
var hints = [][2]string{
	{"SDL_JOYSTICK_ALLOW_BACKGROUND_EVENTS", "1"},
	{"SDL_JOYSTICK_HIDAPI", "0"},
	{"SDL_LINUX_JOYSTICK_DEADZONES", "0"},
	{"SDL_LINUX_JOYSTICK_CLASSIC", "0"},
	{"SDL_NO_SIGNAL_HANDLERS", "1"},
}

// start brings up SDL's joysticks, locked to this thread; the returned
// function undoes it. SDL counts its users, so starts may nest.
func start() (stop func(), err error) {
	runtime.LockOSThread()
	for _, h := range hints {
		native.SetHint(h[0], h[1])
	}
	if err := native.InitSubSystem(native.INIT_JOYSTICK); err != nil {
		runtime.UnlockOSThread()
		return nil, fmt.Errorf("start SDL: %w", err)
	}
	// State is polled, so nothing has to queue up as events.
	native.JoystickEventState(native.IGNORE)
	return func() {
		native.QuitSubSystem(native.INIT_JOYSTICK)
		runtime.UnlockOSThread()
	}, nil
}

// update takes in what has arrived and drops whatever SDL queued about it.
func update() {
	native.JoystickUpdate()
	native.FlushEvents(native.FIRSTEVENT, native.LASTEVENT)
}

// List returns the controllers that SDL sees, none being no error.
func List() ([]Found, error) {
	stop, err := start()
	if err != nil {
		return nil, err
	}
	defer stop()
	found, opened, err := openAll()
	for _, j := range opened {
		j.Close()
	}
	return found, err
}

// openAll opens every controller and describes it. The controllers are the
// caller's to close, also after an error.
func openAll() (found []Found, opened []*native.Joystick, err error) {
	update()
	var failed []error
	for i := range native.NumJoysticks() {
		f, j, err := openAt(i)
		if err != nil {
			failed = append(failed, err)
			continue
		}
		found, opened = append(found, f), append(opened, j)
	}
	// Opening makes SDL read the present state, at the next update.
	update()
	for i, j := range opened {
		for a := range found[i].Counts {
			found[i].Counts[a] = counts(j, a)
		}
	}
	nameAll(found)
	return found, opened, errors.Join(failed...)
}

// openAt opens the controller at a device index and describes it, all but its
// counts, id and labels.
func openAt(i int) (Found, *native.Joystick, error) {
	j := native.JoystickOpen(i)
	if j == nil {
		return Found{}, nil, fmt.Errorf("open controller %s: %s", native.JoystickNameForIndex(i), lastError())
	}
	f := Found{
		Name: j.Name(), GUID: guidAt(i), Instance: int(j.InstanceID()),
		Path: pathAt(i), Serial: serialOf(j),
		Vendor:  uint16(native.JoystickGetDeviceVendor(i)),
		Product: uint16(native.JoystickGetDeviceProduct(i)),
		Virtual: isVirtualAt(i),
		Counts:  make([]int16, j.NumAxes()),
	}
	f.readSystem()
	return f, j, nil
}

// source is an input.Source of opened controllers.
type source struct {
	stop       func()
	thread     uint64
	devices    []input.Device
	open       []*opened
	note       string // added to Describe
	keepFilter bool
	// virtualOnly is a source of virtual joysticks of its own making: whatever
	// comes is none of them.
	virtualOnly bool
	known       map[native.JoystickID]bool // all that were looked at
	events      []input.Event              // not handed out yet
}

// opened is one controller under way.
type opened struct {
	id       string // in the recording
	unit     identity
	joystick *native.Joystick
	holds    []hold // one an axis
	filter   *systemFilter
	away     bool // unplugged, and not back
}

// Open opens the controllers that the options choose. It locks the calling
// goroutine to its thread, on which Poll and Close must be called too.
func Open(o Options) (input.Source, error) {
	stop, err := start()
	if err != nil {
		return nil, err
	}
	s, err := openChosen(o, stop)
	if err != nil {
		stop()
		return nil, err
	}
	return s, nil
}

// take goes on with a controller that was opened: its axes count as not moved
// yet, and the system's filter is lifted.
func (s *source) take(o *opened, f *Found, j *native.Joystick) {
	o.joystick, o.unit, o.away = j, f.identity(), false
	o.holds = newHolds(len(f.Counts), f.Virtual)
	o.filter = nil
	if s.keepFilter {
		f.leave(input.LeftAsked)
	} else {
		o.filter = f.lift()
	}
}

func openChosen(o Options, stop func()) (*source, error) {
	found, joysticks, openErr := openAll()
	picked, err := choose(found, o.Devices)
	keep := map[int]bool{}
	for _, i := range picked {
		keep[i] = true
	}
	for i, j := range joysticks {
		if !keep[i] {
			j.Close()
		}
	}
	if err != nil {
		return nil, errors.Join(err, openErr)
	}
	s := &source{stop: stop, thread: thisThread(), keepFilter: o.KeepSystemFilter, known: map[native.JoystickID]bool{}}
	for _, f := range found {
		s.known[native.JoystickID(f.Instance)] = true
	}
	var chosen []Found
	for _, i := range picked {
		next := &opened{id: found[i].ID}
		s.take(next, &found[i], joysticks[i])
		chosen = append(chosen, found[i])
		s.open = append(s.open, next)
	}
	if s.devices, err = describe(chosen, o); err != nil {
		return nil, errors.Join(err, s.closeJoysticks())
	}
	return s, nil
}

// Describe names SDL's version and the system.
func (s *source) Describe() string {
	var v native.Version
	native.GetVersion(&v)
	text := fmt.Sprintf("sdl %d.%d.%d %s", v.Major, v.Minor, v.Patch, runtime.GOOS)
	if s.note != "" {
		text += ", " + s.note
	}
	return text
}

func (s *source) Devices() []input.Device { return s.devices }

// Poll takes in what has arrived and fills in the newest counts of every axis.
//
// An axis of a real controller is present once it has been moved by more than
// 409 counts since it was opened; see hold.
func (s *source) Poll(dst []int16, present []bool) error {
	if thisThread() != s.thread {
		return errors.New("the controllers are polled from another thread than opened them; open, poll and close them on one goroutine")
	}
	if n := s.axes(); len(dst) != n || len(present) != n {
		return fmt.Errorf("poll of %d axes into %d counts and %d marks; give one each an axis", n, len(dst), len(present))
	}
	update()
	s.notice()
	col := 0
	for _, o := range s.open {
		o.poll(dst[col:], present[col:])
		col += len(o.holds)
	}
	return nil
}

func (o *opened) poll(dst []int16, present []bool) {
	// A removed controller's axes go back to their first readings, which
	// nobody moved them to.
	for a := range o.holds {
		if o.away {
			dst[a], present[a] = 0, false
			continue
		}
		v, h := counts(o.joystick, a), &o.holds[a]
		if !h.released() {
			first, known := firstCounts(o.joystick, a)
			h.sample(v, first, known)
		}
		if present[a] = h.released(); !present[a] {
			v = 0
		}
		dst[a] = v
	}
}

func (s *source) axes() int {
	n := 0
	for _, o := range s.open {
		n += len(o.holds)
	}
	return n
}

// closeJoysticks closes the controllers and puts their filters back.
func (s *source) closeJoysticks() error {
	var failed []error
	for _, o := range s.open {
		if err := o.filter.restore(); err != nil {
			failed = append(failed, fmt.Errorf("put the system's filter back: %w; unplugging the controller does", err))
		}
		o.joystick.Close()
	}
	s.open = nil
	return errors.Join(failed...)
}

// Close puts the operating system's filters back and closes the controllers; a
// second Close does nothing.
func (s *source) Close() error {
	if s.stop == nil {
		return nil
	}
	if thisThread() != s.thread {
		return errors.New("the controllers are closed from another thread than opened them; open, poll and close them on one goroutine")
	}
	err := s.closeJoysticks()
	s.stop()
	s.stop = nil
	return err
}
