// Package sdl hands over the samples of real controllers, and of virtual ones
// that carry a simulated rig, through SDL's joystick interface.
//
// Data passes one way: operating system (or simulated rig) → SDL → counts. It
// needs cgo and SDL 2.24 or later; built without cgo, everything here returns
// ErrWithoutSDL. No window is opened.
//
// What SDL does to a reading is stated where it is dealt with: an axis stays
// frozen at its first value until it has moved 410 counts (32767/80) from it,
// so it counts as not present until then; a removed device is absent, not at
// its last value. Virtual joysticks are exempt from the freeze and from the
// operating system's filter: what passes through them proves the path through
// SDL, and nothing about the system below it.
//
// The operating system's noise filter of an axis, which hides small movements
// from every program, is lifted from the time a source is opened to the time
// it is closed; see Options.KeepSystemFilter and package evdev. Devices say in
// OSFilter what is hidden: nothing where the filter is lifted, beside what it
// was.
//
// A controller that is unplugged is absent until it is plugged in again, and then
// goes on where it was; see rejoin for how it is told from others, and
// input.Watcher for how a recording learns of it.
//
// SDL keeps its state per process. Open, Poll and Close of one source belong
// on one goroutine: opening locks it to its thread until Close.
package sdl
