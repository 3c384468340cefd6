package evdev

// Code is the number of an absolute axis (ABS_X and so on in
// linux/input-event-codes.h), 0…0x3f.
type Code uint8

// codes is how many absolute axes there can be (ABS_CNT).
const codes = 0x40

// The axis of a multi-touch surface that selects what the others are about
// (ABS_MT_SLOT); it and those after it are not positions of a control.
const firstTouch Code = 0x2f

// AbsInfo is what the kernel knows of an absolute axis (struct input_absinfo).
type AbsInfo struct {
	Value      int32 // where it is, in codes of the device, after the filter
	Minimum    int32 // smallest and
	Maximum    int32 // largest code
	Fuzz       int32 // width of the noise filter, codes; 0 is off
	Flat       int32 // half-width of the centre that programs may ignore, codes
	Resolution int32 // codes per unit; 0 is unknown
}

// ID says what a device is (struct input_id).
type ID struct {
	Bus, Vendor, Product, Version uint16
}
