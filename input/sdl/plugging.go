//go:build cgo

package sdl

import (
	"fmt"

	native "github.com/veandco/go-sdl2/sdl"

	"halfstick/input"
)

// Events are what has happened to the rig since the last call: controllers that
// went, came back, or came new.
func (s *source) Events() []input.Event {
	events := s.events
	s.events = nil
	return events
}

func (s *source) tell(kind input.EventKind, device, says string) {
	s.events = append(s.events, input.Event{Kind: kind, Device: device, Says: says})
}

// notice looks who has gone and who has come. It runs at each Poll, right
// behind the update in which SDL learns of a removal and puts invented readings
// in the place of the last ones, so that none of these is taken for a sample.
func (s *source) notice() {
	for _, o := range s.open {
		if !o.away && !o.joystick.Attached() {
			o.away = true
			s.tell(input.Unplugged, o.id, "")
		}
		if o.filter.liftedAgain() {
			s.tell(input.Filtered, o.id, "")
		}
	}
	if s.virtualOnly {
		return
	}
	for i := 0; i < native.NumJoysticks(); i++ {
		if id := native.JoystickGetDeviceInstanceID(i); !s.known[id] {
			s.known[id] = true
			s.welcome(i)
		}
	}
}

// welcome lets a controller that has come go on in the columns that it had, if
// it is one that went; anything else is only told of.
func (s *source) welcome(index int) {
	name := native.JoystickNameForIndex(index)
	var away []*opened
	var awayUnits, hereUnits []identity
	for _, o := range s.open {
		if o.away {
			away, awayUnits = append(away, o), append(awayUnits, o.unit)
		} else {
			hereUnits = append(hereUnits, o.unit)
		}
	}
	if len(away) == 0 {
		s.tell(input.Stranger, name, "")
		return
	}
	f, j, err := openAt(index)
	if err != nil {
		s.tell(input.Stranger, name, err.Error())
		return
	}
	back := rejoin(f.identity(), awayUnits, hereUnits)
	if back == nobody {
		j.Close()
		s.tell(input.Stranger, name, unlike(f.identity(), away))
		return
	}
	o := away[back]
	// The kernel has forgotten the filter of the one that went.
	_ = o.filter.restore()
	o.joystick.Close()
	s.take(o, &f, j)
	s.tell(input.Plugged, o.id, s.afterReturn(o, f))
}

// unlike says why a controller is none of those of its kind that went.
func unlike(came identity, away []*opened) string {
	for _, o := range away {
		if !came.kin(o.unit) {
			continue
		}
		if came.serial != o.unit.serial {
			return fmt.Sprintf("it is of the same kind as %s but has another serial number", o.id)
		}
		return fmt.Sprintf("it is of the same kind as %s but in another port; plug %s into the port it was in", o.id, o.id)
	}
	return ""
}

// afterReturn says what a person has to do after a controller came back.
func (s *source) afterReturn(o *opened, f Found) string {
	says := ""
	if !f.Virtual {
		says = "move each of its axes a little: until then their cells stay empty"
	}
	if !s.keepFilter && o.filter == nil && f.system != nil {
		says += "; the system's filter could not be lifted again"
	}
	return says
}
