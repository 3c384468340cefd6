// Package hid describes the controllers that the device test makes, and puts
// their reports into bytes.
//
// A Device becomes a report descriptor, which tells the kernel how to read its
// reports, and the events of the kernel's /dev/uhid, through which a process
// can be a HID device. The items of a descriptor are those of the Device Class
// Definition for Human Interface Devices 1.11, section 6.2.2, the usages those
// of the HID Usage Tables 1.12; the events those of linux/uhid.h.
package hid
