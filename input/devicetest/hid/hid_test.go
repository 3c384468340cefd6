package hid

import (
	"bytes"
	"encoding/hex"
	"strings"
	"testing"
)

// An independent reading of a descriptor, item by item, as section 6.2.2.2 of
// the HID definition has it: the first byte's low two bits are the length
// (3 means 4), the rest says what it is.
func items(t *testing.T, descriptor []byte) (names []byte, values []uint32) {
	t.Helper()
	for len(descriptor) > 0 {
		first := descriptor[0]
		length := []int{0, 1, 2, 4}[first&3]
		if len(descriptor) < 1+length {
			t.Fatalf("an item of %d bytes at the end, with %d left", length, len(descriptor)-1)
		}
		value := uint32(0)
		for i := range length {
			value |= uint32(descriptor[1+i]) << (8 * i)
		}
		names, values = append(names, first&^3), append(values, value)
		descriptor = descriptor[1+length:]
	}
	return names, values
}

// The report that a descriptor describes must be as long as the one that is
// sent: 16 bits an axis, and a byte of buttons.
func TestDescriptorMatchesReport(t *testing.T) {
	for _, d := range []Device{Stick(), Pedals(), PlainPedals()} {
		names, values := items(t, d.Descriptor())
		var bits, size, count, axes uint32
		var maxima []uint32
		for i, name := range names {
			switch name {
			case 0x74: // report size
				size = values[i]
			case 0x94: // report count
				count = values[i]
			case 0x24: // logical maximum
				maxima = append(maxima, values[i])
			case 0x80: // input
				bits += size * count
				if size == 16 {
					axes++
				}
			}
		}
		if got := uint32(8 * len(d.Report(make([]int, len(d.Axes))))); got != bits {
			t.Errorf("%s: a report of %d bits, described as %d", d.Name, got, bits)
		}
		if int(axes) != len(d.Axes) {
			t.Errorf("%s: %d axes described, want %d", d.Name, axes, len(d.Axes))
		}
		for i, axis := range d.Axes {
			if want := uint32(1)<<axis.Bits - 1; maxima[i] != want {
				t.Errorf("%s %s: largest code %d, want %d", d.Name, axis.Name, maxima[i], want)
			}
		}
	}
}

func TestReport(t *testing.T) {
	if got := hex.EncodeToString(Stick().Report([]int{0x1234, 0xffff, 1, 0x3fff})); got != "3412ffff0100ff3f00" {
		t.Errorf("the stick's report is %s", got)
	}
	if got := hex.EncodeToString(Pedals().Report([]int{1, 512, 1023})); got != "01000002ff03" {
		t.Errorf("the pedals' report is %s", got)
	}
}

// Offsets of struct uhid_create2_req behind the four bytes of the type, by
// hand from linux/uhid.h: name 4, phys 132, uniq 196, rd_size 260, bus 262,
// vendor 264, product 268, version 272, country 276, rd_data 280.
func TestCreateEvent(t *testing.T) {
	d := Stick()
	d.Uniq = strings.Repeat("9", 100)
	event := d.Create()
	descriptor := d.Descriptor()
	for _, c := range []struct {
		at   int
		want []byte
	}{
		{0, []byte{11, 0, 0, 0}},
		{4, []byte("Example Stick\x00")},
		{132, []byte("example/stick\x00")},
		{196, []byte(strings.Repeat("9", 63) + "\x00")},
		{260, []byte{byte(len(descriptor)), byte(len(descriptor) >> 8), 3, 0}},
		{264, []byte{0xf1, 0xf1, 0, 0, 1, 0, 0, 0, 0x10, 0x01, 0, 0, 0, 0, 0, 0}},
		{280, descriptor},
	} {
		if got := event[c.at : c.at+len(c.want)]; !bytes.Equal(got, c.want) {
			t.Errorf("at %d stands %x, want %x", c.at, got, c.want)
		}
	}
	if len(event) > UHIDEventSize {
		t.Errorf("the event has %d bytes, more than the %d that one can have", len(event), UHIDEventSize)
	}
}

func TestInputEvent(t *testing.T) {
	if got := hex.EncodeToString(Input([]byte{0xaa, 0xbb, 0xcc})); got != "0c0000000300aabbcc" {
		t.Errorf("the event is %s", got)
	}
}

func TestRefusal(t *testing.T) {
	for _, c := range []struct{ event, want string }{
		{"09000000" + "78563412" + "0000", "0a000000" + "78563412" + "0500"},
		{"0d000000" + "01000000" + "0000", "0e000000" + "01000000" + "0500"},
		{"04000000", ""},
		{"0900", ""},
	} {
		event, err := hex.DecodeString(c.event)
		if err != nil {
			t.Fatal(err)
		}
		if got := hex.EncodeToString(Refusal(event)); got != c.want {
			t.Errorf("%s is answered with %q, want %q", c.event, got, c.want)
		}
	}
}

func TestCountNeverRepeats(t *testing.T) {
	for _, d := range []Device{Stick(), Pedals(), PlainPedals()} {
		seen := map[string]int{}
		extremes := make([][2]int, len(d.Axes))
		for n := range 70_000 {
			codes := Count(d, n)
			report := string(d.Report(codes))
			if before, ok := seen[report]; ok {
				t.Fatalf("%s: reports %d and %d are alike", d.Name, before, n)
			}
			seen[report] = n
			for i, code := range codes {
				if code < 0 || code > d.Axes[i].Max() {
					t.Fatalf("%s: report %d has %s at %d", d.Name, n, d.Axes[i].Name, code)
				}
				extremes[i][0] = min(extremes[i][0], code)
				extremes[i][1] = max(extremes[i][1], code)
			}
		}
		for i, axis := range d.Axes {
			if extremes[i] != [2]int{0, axis.Max()} {
				t.Errorf("%s: %s goes from %d to %d only", d.Name, axis.Name, extremes[i][0], extremes[i][1])
			}
		}
	}
}
