//go:build cgo

package sdl

// What go-sdl2 0.4.39 does not bind: paths, serials, whole GUIDs and virtual
// joysticks. It calls into the same SDL.

/*
#cgo !windows pkg-config: sdl2
#include <stdlib.h>
#include <string.h>
#include <SDL.h>

#if !SDL_VERSION_ATLEAST(2,24,0)
#error "SDL 2.24 or later is needed, for named virtual joysticks"
#endif

// name is copied by SDL.
static int attach_virtual(const char *name, int axes) {
	SDL_VirtualJoystickDesc desc;
	memset(&desc, 0, sizeof desc);
	desc.version = SDL_VIRTUAL_JOYSTICK_DESC_VERSION;
	desc.type = SDL_JOYSTICK_TYPE_FLIGHT_STICK;
	desc.naxes = (Uint16)axes;
	desc.name = name;
	return SDL_JoystickAttachVirtualEx(&desc);
}

static void guid_of(int index, unsigned char out[16]) {
	SDL_JoystickGUID g = SDL_JoystickGetDeviceGUID(index);
	memcpy(out, g.data, 16);
}
*/
import "C"

import (
	"encoding/hex"
	"fmt"
	"unsafe"

	native "github.com/veandco/go-sdl2/sdl"
)

func pointer(j *native.Joystick) *C.SDL_Joystick { return (*C.SDL_Joystick)(unsafe.Pointer(j)) }

// lastError returns SDL's own words about what went wrong.
func lastError() string { return C.GoString(C.SDL_GetError()) }

// guidAt returns the 32 hexadecimal digits of the GUID at a device index.
func guidAt(index int) string {
	var g [16]byte
	C.guid_of(C.int(index), (*C.uchar)(&g[0]))
	return hex.EncodeToString(g[:])
}

// pathAt returns the device node at a device index, "" if SDL has none.
func pathAt(index int) string { return C.GoString(C.SDL_JoystickPathForIndex(C.int(index))) }

func serialOf(j *native.Joystick) string { return C.GoString(C.SDL_JoystickGetSerial(pointer(j))) }

func isVirtualAt(index int) bool { return C.SDL_JoystickIsVirtual(C.int(index)) == C.SDL_TRUE }

// attachVirtual makes a virtual joystick and returns its instance id.
func attachVirtual(name string, axes int) (native.JoystickID, error) {
	text := C.CString(name)
	defer C.free(unsafe.Pointer(text))
	index := C.attach_virtual(text, C.int(axes))
	if index < 0 {
		return 0, fmt.Errorf("attach virtual joystick %s: %s", name, lastError())
	}
	return native.JoystickGetDeviceInstanceID(int(index)), nil
}

func detachVirtual(id native.JoystickID) error {
	index, ok := indexOf(id)
	if !ok {
		return nil
	}
	if C.SDL_JoystickDetachVirtual(C.int(index)) != 0 {
		return fmt.Errorf("detach virtual joystick: %s", lastError())
	}
	return nil
}

// indexOf finds the present device index of an instance.
func indexOf(id native.JoystickID) (int, bool) {
	for i := range native.NumJoysticks() {
		if native.JoystickGetDeviceInstanceID(i) == id {
			return i, true
		}
	}
	return 0, false
}

// setVirtual sets an axis; SDL applies it at its next update.
func setVirtual(j *native.Joystick, axis int, counts int16) error {
	if C.SDL_JoystickSetVirtualAxis(pointer(j), C.int(axis), C.Sint16(counts)) != 0 {
		return fmt.Errorf("set virtual axis %d: %s", axis, lastError())
	}
	return nil
}

// counts reads an axis; 0 both for 0 and for a failure, as SDL has it.
func counts(j *native.Joystick, axis int) int16 {
	return int16(C.SDL_JoystickGetAxis(pointer(j), C.int(axis)))
}

// firstCounts returns the reading that SDL took for the axis's first.
func firstCounts(j *native.Joystick, axis int) (value int16, known bool) {
	var v C.Sint16
	ok := C.SDL_JoystickGetAxisInitialState(pointer(j), C.int(axis), &v)
	return int16(v), ok == C.SDL_TRUE
}

// thisThread identifies the calling thread.
func thisThread() uint64 { return uint64(C.SDL_ThreadID()) }
