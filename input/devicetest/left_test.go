//go:build device && linux

package devicetest

import (
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/devicetest/hid"
)

// A recording that is killed leaves the kernel's filter lifted, which the list
// of devices says, until the device is plugged in anew.
func TestKilledRecordingLeavesFilterLifted(t *testing.T) {
	m := needMachine(t)
	f := newFeeder(t, m, "-device", "pedals")
	waitListed(t, m, hid.Pedals().Name)
	recorder := startRecording(t, m, "left")
	if err := recorder.Kill(syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	if err := recorder.Wait(60 * time.Second); err != nil || recorder.Signal != syscall.SIGKILL {
		t.Fatalf("killed: %v, by %v", err, recorder.Signal)
	}
	notes := func() string { return strings.Join(listDevices(t, m)[0].Notes, "; ") }
	checkListedFilters(t, m, true)
	if said := notes(); !strings.Contains(said, "or one was killed, which leaves it so until the controller is unplugged") {
		t.Errorf("the list says only %q", said)
	}
	f.do("unplug", "plug")
	waitListed(t, m, hid.Pedals().Name)
	checkListedFilters(t, m, false)
	if said := notes(); strings.Contains(said, "killed") {
		t.Errorf("the list says %q of a filter that is there", said)
	}
}

// Of two recordings at once the first to end puts the kernel's filter back; the
// other soon lifts it again, says so, and puts it back in the end.
func TestTwoRecordingsAtOnce(t *testing.T) {
	m := needMachine(t)
	newFeeder(t, m, "-device", "pedals")
	waitListed(t, m, hid.Pedals().Name)
	first := startRecording(t, m, "first")
	second := startRecording(t, m, "second")
	endRecording(t, first)
	said(t, second, "had put the system's filter of example-pedals back")
	checkListedFilters(t, m, true)
	endRecording(t, second)
	checkListedFilters(t, m, false)
	recording, err := input.Open(filepath.Join(m.Share, "second.csv"))
	if err != nil {
		t.Fatal(err)
	}
	noted := 0
	for _, e := range recording.Events() {
		if e.Kind == input.Filtered && e.Device == "example-pedals" {
			noted++
		}
	}
	if noted != 1 {
		t.Errorf("the second recording notes %d times that it was filtered", noted)
	}
}
