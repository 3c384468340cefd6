//go:build device && linux

package evdev

import (
	"os"
	"path/filepath"
	"reflect"
	"testing"
)

// TestRealDevices runs inside the machine of the device test, where the kernel
// has made a stick and pedals. The filters wanted are the kernel's rule
// (hidinput_configure_usage in drivers/hid/hid-input.c: fuzz is range >> 8 and
// flat range >> 4) for 16, 14 and 10 bits.
func TestRealDevices(t *testing.T) {
	if os.Getenv("HALFSTICK_MACHINE") == "" {
		t.Skip("runs inside the machine of input/devicetest only")
	}
	want := map[string]Filter{
		"Example Stick":  {{0, 255, 4095}, {1, 255, 4095}, {5, 63, 1023}, {6, 63, 1023}},
		"Example Pedals": {{3, 3, 63}, {4, 3, 63}, {7, 3, 63}},
	}
	paths, err := filepath.Glob("/dev/input/event*")
	if err != nil {
		t.Fatal(err)
	}
	for _, path := range paths {
		node, err := Open(path)
		if err != nil {
			t.Fatal(err)
		}
		defer node.Close()
		name, err := node.Name()
		if err != nil {
			t.Fatal(err)
		}
		if wanted, ok := want[name]; ok {
			delete(want, name)
			t.Run(name, func(t *testing.T) { checkFilter(t, node, wanted) })
		}
	}
	for name := range want {
		t.Errorf("%s is not among %v", name, paths)
	}
}

// checkFilter reads, lifts and restores the filter of a real device, and asks
// the kernel again after each step.
func checkFilter(t *testing.T, node *Node, want Filter) {
	id, err := node.ID()
	if err != nil {
		t.Fatal(err)
	}
	if id.Bus != 3 || id.Vendor != 0xf1f1 {
		t.Errorf("its id is %+v", id)
	}
	filter, err := ReadFilter(node)
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(filter, want) {
		t.Fatalf("its filter is %v, want %v", filter, want)
	}
	if lifted, err := filter.Verify(node); err != nil || lifted {
		t.Errorf("before lifting, Verify says %v, %v", lifted, err)
	}
	if err := filter.Lift(node); err != nil {
		t.Fatal(err)
	}
	for _, axis := range want {
		if info, err := node.Abs(axis.Code); err != nil || info.Fuzz != 0 || info.Flat != 0 {
			t.Errorf("lifted, axis %#x is %+v, %v", axis.Code, info, err)
		}
	}
	if err := filter.Restore(node); err != nil {
		t.Fatal(err)
	}
	if again, err := ReadFilter(node); err != nil || !reflect.DeepEqual(again, want) {
		t.Errorf("restored, its filter is %v, %v, want %v", again, err, want)
	}
}
