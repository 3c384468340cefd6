// Package evdev reads, lifts and restores the filter that the Linux kernel
// puts between a controller and every program.
//
// For a HID joystick the kernel sets, for each absolute axis, fuzz to 1/256
// and flat to 1/16 of the axis's range. Fuzz is not only a report: the kernel
// filters the axis with it (input_defuzz_abs_event in drivers/input/input.c),
// so that small movements and noise never reach a program, and what does
// arrive sticks up to fuzz away from the truth. Flat is only a hint to
// programs. Both belong to the device, not to a reader of it: what is set here
// holds for everybody until it is set again or the device is unplugged.
//
// A Node is an open event file, such as /dev/input/event5. ReadFilter takes
// down what is set; Lift sets all to 0; Verify finds axes on which it is not;
// Restore puts back what was there. Nothing here needs more than permission to
// read the event file.
//
// The requests and the structure are those of linux/input.h and
// linux/input-event-codes.h. On other systems Open returns
// errors.ErrUnsupported.
package evdev
