package evdev

import (
	"errors"
	"reflect"
	"strings"
	"testing"
)

// fake is a device in memory. It refuses to set the axis deaf, and ignores it
// when the axis is stubborn.
type fake struct {
	infos          map[Code]AbsInfo
	order          []Code
	deaf, stubborn Code
}

const noAxis Code = 0xff

func newFake() *fake {
	return &fake{
		infos: map[Code]AbsInfo{
			0: {Value: 32700, Maximum: 65535, Fuzz: 255, Flat: 4095, Resolution: 3},
			3: {Value: 512, Maximum: 1023, Fuzz: 3, Flat: 63},
			7: {Value: 9, Minimum: -127, Maximum: 127, Fuzz: 0, Flat: 15},
		},
		order: []Code{0, 3, 7}, deaf: noAxis, stubborn: noAxis,
	}
}

func (f *fake) Codes() ([]Code, error)         { return f.order, nil }
func (f *fake) Abs(code Code) (AbsInfo, error) { return f.infos[code], nil }
func (f *fake) SetAbs(c Code, info AbsInfo) error {
	if c == f.deaf {
		return errors.New("not permitted")
	}
	if c != f.stubborn {
		f.infos[c] = info
	}
	return nil
}

func TestFilterIsReadLiftedAndRestored(t *testing.T) {
	device := newFake()
	before := newFake().infos
	filter, err := readFilter(device)
	if err != nil {
		t.Fatal(err)
	}
	want := Filter{{0, 255, 4095}, {3, 3, 63}, {7, 0, 15}}
	if !reflect.DeepEqual(filter, want) {
		t.Fatalf("the filter reads %v, want %v", filter, want)
	}
	if lifted, _ := verify(device, filter); lifted {
		t.Error("the filter counts as lifted before it was")
	}
	if err := filter.lift(device); err != nil {
		t.Fatal(err)
	}
	for code, info := range device.infos {
		was := before[code]
		was.Fuzz, was.Flat = 0, 0
		if info != was {
			t.Errorf("axis %d is %+v once lifted, want %+v", code, info, was)
		}
	}
	if lifted, _ := verify(device, filter); !lifted {
		t.Error("the filter does not count as lifted after it was")
	}
	if err := filter.restore(device); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(device.infos, before) {
		t.Errorf("restored to %v, want %v", device.infos, before)
	}
}

// A device that came back has its own filter again.
func TestReplugIsNoticed(t *testing.T) {
	device := newFake()
	filter, _ := readFilter(device)
	if err := filter.lift(device); err != nil {
		t.Fatal(err)
	}
	device.infos[7] = newFake().infos[7]
	if lifted, _ := verify(device, filter); lifted {
		t.Error("an axis with a flat counts as lifted")
	}
}

func TestWhatAnotherProgramSetStays(t *testing.T) {
	device := newFake()
	filter, _ := readFilter(device)
	if err := filter.lift(device); err != nil {
		t.Fatal(err)
	}
	info := device.infos[3]
	info.Fuzz = 1
	device.infos[3] = info
	if err := filter.restore(device); err != nil {
		t.Fatal(err)
	}
	if got := device.infos[3].Fuzz; got != 1 {
		t.Errorf("fuzz is %d, want the 1 that was set meanwhile", got)
	}
	if got := device.infos[0].Fuzz; got != 255 {
		t.Errorf("fuzz of another axis is %d, want 255", got)
	}
}

// Of two recordings the second finds the filter lifted, has to lift it again
// when the first puts it back, and is then the one to put it back.
func TestTwoRecordingsAtOnce(t *testing.T) {
	device := newFake()
	first, _ := readFilter(device)
	if err := first.lift(device); err != nil {
		t.Fatal(err)
	}
	second, _ := readFilter(device)
	if err := second.lift(device); err != nil {
		t.Fatal(err)
	}
	if found, err := second.renew(device); found || err != nil {
		t.Errorf("a filter that is lifted is found: %v, %v", found, err)
	}
	if err := first.restore(device); err != nil {
		t.Fatal(err)
	}
	if found, err := second.renew(device); !found || err != nil {
		t.Errorf("the filter that was put back is not found: %v", err)
	}
	if lifted, _ := verify(device, second); !lifted {
		t.Error("it is not lifted again")
	}
	if err := second.restore(device); err != nil {
		t.Fatal(err)
	}
	if want := newFake().infos; !reflect.DeepEqual(device.infos, want) {
		t.Errorf("left at %v, want %v", device.infos, want)
	}
	_ = second.lift(device)
	device.infos[3], device.deaf = newFake().infos[3], 3
	if _, err := second.renew(device); err == nil {
		t.Error("a filter that cannot be lifted again is not reported")
	}
}

func TestHalfLiftedIsPutBack(t *testing.T) {
	for name, spoil := range map[string]func(*fake){
		"refused": func(f *fake) { f.deaf = 3 },
		"ignored": func(f *fake) { f.stubborn = 3 },
	} {
		device := newFake()
		spoil(device)
		filter, _ := readFilter(device)
		err := filter.lift(device)
		if err == nil {
			t.Errorf("%s: no error", name)
		}
		if name == "refused" && !strings.Contains(err.Error(), "axis 0x3") {
			t.Errorf("%s: the error does not name the axis: %v", name, err)
		}
		if want := newFake().infos; !reflect.DeepEqual(device.infos, want) {
			t.Errorf("%s: left at %v, want %v", name, device.infos, want)
		}
	}
}

func TestRestoreGoesOnAfterAFailure(t *testing.T) {
	device := newFake()
	filter, _ := readFilter(device)
	if err := filter.lift(device); err != nil {
		t.Fatal(err)
	}
	device.deaf = 0
	if err := filter.restore(device); err == nil {
		t.Error("a failure to restore is not reported")
	}
	if got := device.infos[7].Flat; got != 15 {
		t.Errorf("the axis after the one that failed has flat %d, want 15", got)
	}
}
