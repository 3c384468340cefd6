package main

import (
	"strings"
	"testing"

	"halfstick/input"
	"halfstick/input/sdl"
)

func TestDeviceTable(t *testing.T) {
	var b strings.Builder
	err := deviceTable(&b, []sdl.Found{{
		ID: "example-pedals", Name: "Example Pedals", GUID: "0300aa", Vendor: 0xf1f1, Product: 2,
		Path: "/dev/input/event5", Serial: "P-1", Port: "usb-1",
		Counts: []int16{-7, 8, 9}, Labels: []string{"rx", "rudder", "abs-28"}, Usages: []string{"0x010033", "", ""},
		Filters: []*input.OSFilter{{Fuzz: 3, Flat: 63}, {Flat: 15}, {}},
		Notes:   []string{"something to know"},
	}, {ID: "stick", Name: "Stick", GUID: "0300bb", Counts: []int16{1}, Labels: []string{"x"}}})
	if err != nil {
		t.Fatal(err)
	}
	const want = `example-pedals: Example Pedals
  GUID 0300aa
  vendor f1f1, product 0002
  at /dev/input/event5
  serial number P-1
  plugged in at usb-1
  axis  label   usage      counts now  the system hides
  0     rx      0x010033   -7          changes below 3, and 63 either side of the middle, from programs that heed it (in the device's own units)
  1     rudder  not known  8           15 either side of the middle, from programs that heed it (in the device's own units)
  2     abs-28  not known  9           nothing
  note: something to know

stick: Stick
  GUID 0300bb
  axis  label  usage      counts now  the system hides
  0     x      not known  1           not known
`
	if got := b.String(); got != want {
		t.Errorf("the table is\n%s, want\n%s", got, want)
	}
}
