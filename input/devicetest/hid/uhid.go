package hid

import "encoding/binary"

// Events of /dev/uhid (enum uhid_event_type).
const (
	uhidDestroy        = 1
	UHIDStop           = 3 // the device is gone
	UHIDOpen           = 4 // the first reader has opened the device
	UHIDClose          = 5 // the last one has closed it
	UHIDGetReport      = 9
	uhidGetReportReply = 10
	uhidCreate2        = 11
	uhidInput2         = 12
	UHIDSetReport      = 13
	uhidSetReportReply = 14
)

// Sizes in struct uhid_create2_req and struct uhid_event, which is packed.
const (
	uhidNameSize = 128
	uhidTextSize = 64 // phys, uniq
	uhidDataSize = 4096
	// UHIDEventSize is the size of the largest event, a creation.
	UHIDEventSize = 4 + uhidNameSize + 2*uhidTextSize + 2 + 2 + 4*4 + uhidDataSize
)

const (
	busUSB        = 0x03 // linux/input.h
	deviceVersion = 0x0110
	eIO           = 5
)

// Create is the event that plugs the device in (UHID_CREATE2).
func (d Device) Create() []byte {
	descriptor := d.Descriptor()
	b := binary.LittleEndian.AppendUint32(nil, uhidCreate2)
	b = appendText(b, d.Name, uhidNameSize)
	b = appendText(b, d.Phys, uhidTextSize)
	b = appendText(b, d.Uniq, uhidTextSize)
	b = binary.LittleEndian.AppendUint16(b, uint16(len(descriptor)))
	b = binary.LittleEndian.AppendUint16(b, busUSB)
	b = binary.LittleEndian.AppendUint32(b, uint32(d.Vendor))
	b = binary.LittleEndian.AppendUint32(b, uint32(d.Product))
	b = binary.LittleEndian.AppendUint32(b, deviceVersion)
	b = binary.LittleEndian.AppendUint32(b, 0) // country: not localised
	return append(b, descriptor...)
}

// appendText appends a text in a field of size bytes, cut so that a zero
// always ends it.
func appendText(b []byte, text string, size int) []byte {
	field := make([]byte, size)
	copy(field[:size-1], text)
	return append(b, field...)
}

// Destroy is the event that unplugs the device.
func Destroy() []byte {
	return binary.LittleEndian.AppendUint32(nil, uhidDestroy)
}

// Input is the event that carries one report to the kernel (UHID_INPUT2).
func Input(report []byte) []byte {
	b := binary.LittleEndian.AppendUint32(nil, uhidInput2)
	b = binary.LittleEndian.AppendUint16(b, uint16(len(report)))
	return append(b, report...)
}

// EventType is the type of an event that was read from /dev/uhid, and false
// for one that is too short to have one.
func EventType(event []byte) (uint32, bool) {
	if len(event) < 4 {
		return 0, false
	}
	return binary.LittleEndian.Uint32(event), true
}

// Refusal answers a request for a report, which these devices do not have;
// without an answer the kernel waits five seconds. It is nil for other events.
func Refusal(event []byte) []byte {
	kind, _ := EventType(event)
	if len(event) < 8 || kind != UHIDGetReport && kind != UHIDSetReport {
		return nil
	}
	reply := uint32(uhidGetReportReply)
	if kind == UHIDSetReport {
		reply = uhidSetReportReply
	}
	b := binary.LittleEndian.AppendUint32(nil, reply)
	b = append(b, event[4:8]...) // the request's number
	return binary.LittleEndian.AppendUint16(b, eIO)
}
