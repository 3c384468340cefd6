//go:build device && linux

package devicetest

import (
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/devicetest/hid"
)

// SDL shows nothing of an axis that has only trembled since it was opened. Its
// rest is refused with the reason, and taken once it has been moved.
func TestRestOfAFrozenAxisIsRefused(t *testing.T) {
	m := needMachine(t)
	f := newFeeder(t, m, "-device", "pedals")
	waitListed(t, m, hid.Pedals().Name)
	recorder := startRecording(t, m, "frozen", "--phase", "rest:rx=2s", "--phase", "sweep:rx=2s", "--phase", "rest:rx=10m")
	// 3 of 1023 codes are 192 counts: less than the 409 that SDL wants.
	f.do("await", "still 500ms 3")
	said(t, recorder, "no rest of rx: it has not moved since it was opened")
	f.do("move rx 900 300ms", "still 1s 3")
	file := filepath.Join(m.Share, "frozen.csv")
	eventually(t, 60*time.Second, func() error {
		content, err := os.ReadFile(file)
		if err == nil && !strings.Contains(string(content), ",rest:rx,") {
			err = errors.New("the rest of the axis that was moved is refused too")
		}
		return err
	})
	endRecording(t, recorder)
	recording, err := input.Open(file)
	if err != nil {
		t.Fatal(err)
	}
	c, err := recording.Find("rx")
	if err != nil {
		t.Fatal(err)
	}
	if recording.Columns[c].PresentAt(0) {
		t.Error("the axis shows something before it has moved")
	}
	for _, s := range recording.PhaseRanges(input.Rest, "rx") {
		for i := s.From; i < s.To; i++ {
			if !recording.Columns[c].PresentAt(i) {
				t.Fatalf("row %d is of a rest, and the axis shows nothing", i)
			}
		}
	}
}
