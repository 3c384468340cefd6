//go:build device && linux

package devicetest

import (
	"context"
	"encoding/json"
	"fmt"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/devicetest/hid"
	"halfstick/input/devicetest/wire"
)

const program = wire.ShareDir + "/halfstick"

// buildProgram builds the real program, once.
var buildProgram = sync.OnceValue(func() error {
	return goTool(context.Background(), "CGO_ENABLED=1", "build", "-o",
		filepath.Join(machine.Share, "halfstick"), "halfstick/cmd/halfstick")
})

func needProgram(t *testing.T) {
	t.Helper()
	if err := buildProgram(); err != nil {
		t.Fatal(err)
	}
}

func TestDevicesAreListed(t *testing.T) {
	needProgram(t)
	newFeeder(t, "-device", "stick", "-serial", "S-1")
	newFeeder(t, "-device", "pedals", "-serial", "P-1")
	waitListed(t, "Example Stick", "Example Pedals")
	out, err := machine.Run(30*time.Second, program, "devices", "--json")
	if err != nil {
		t.Fatal(err)
	}
	t.Log(out)
	var listed []struct {
		Name, GUID, Path, Serial string
		Vendor, Product          uint16
		Counts                   []int16
	}
	if err := json.Unmarshal([]byte(out), &listed); err != nil {
		t.Fatalf("%v in %s", err, out)
	}
	for _, want := range []hid.Device{hid.Stick(), hid.Pedals()} {
		i := slices.IndexFunc(listed, func(d struct {
			Name, GUID, Path, Serial string
			Vendor, Product          uint16
			Counts                   []int16
		}) bool {
			return d.Name == want.Name
		})
		if i < 0 {
			t.Errorf("%s is not listed", want.Name)
			continue
		}
		got := listed[i]
		if got.Vendor != want.Vendor || got.Product != want.Product || len(got.Counts) != len(want.Axes) ||
			len(got.GUID) != 32 || !strings.HasPrefix(got.Path, "/dev/input/event") {
			t.Errorf("%s is listed as %+v", want.Name, got)
		}
	}
}

func TestRecordingMatchesWhatWasSent(t *testing.T) {
	needProgram(t)
	for _, rate := range []int{125, 500, 1000} {
		t.Run(fmt.Sprint(rate), func(t *testing.T) { recordStream(t, rate) })
	}
}

func recordStream(t *testing.T, rate int) {
	stick := newFeeder(t, "-device", "stick")
	pedals := newFeeder(t, "-device", "pedals")
	waitListed(t, "Example Stick", "Example Pedals")
	name := fmt.Sprintf("stream-%d", rate)
	recorder, err := machine.Start(Command{Args: []string{
		program, "record", "--rate", "1000", "--for", "10s", "-o", name + ".csv"}})
	if err != nil {
		t.Fatal(err)
	}
	// SDL holds an axis at its first reading until it has moved away from it.
	for _, f := range []struct {
		*feeder
		axes []hid.Axis
	}{{stick, hid.Stick().Axes}, {pedals, hid.Pedals().Axes}} {
		lines := []string{"await", fmt.Sprintf("rate %d", rate)}
		for _, axis := range f.axes {
			lines = append(lines, fmt.Sprintf("move %s %d 300ms", axis.Name, axis.Max()))
		}
		f.start(append(lines, "count 6s")...)
	}
	stick.finish(30 * time.Second)
	pedals.finish(30 * time.Second)
	if err := recorder.Wait(30 * time.Second); err != nil || recorder.Status != 0 {
		t.Fatalf("recording: %v, status %d: %s", err, recorder.Status, recorder.Stderr())
	}
	t.Log(recorder.Stderr())
	recording, err := input.Open(filepath.Join(machine.Share, name+".csv"))
	if err != nil {
		t.Fatal(err)
	}
	stick.do("save " + name + "-stick.csv")
	pedals.do("save " + name + "-pedals.csv")
	for device, d := range recording.Header.Devices {
		t.Run(d.Name, func(t *testing.T) {
			sent := hid.Stick()
			file := name + "-stick.csv"
			if d.Name == hid.Pedals().Name {
				sent, file = hid.Pedals(), name+"-pedals.csv"
			}
			compare(t, recording, device, sent, filepath.Join(machine.Share, file), rate)
		})
	}
}

// compare holds one device's columns of a recording against what was sent.
func compare(t *testing.T, recording *input.Recording, device int, d hid.Device, file string, rate int) {
	sent, err := ReadSent(file)
	if err != nil {
		t.Fatal(err)
	}
	var columns []input.Column
	for _, column := range recording.Columns {
		if column.Device == device {
			columns = append(columns, column)
		}
	}
	if len(columns) != len(d.Axes) {
		t.Fatalf("%d columns, want %d", len(columns), len(d.Axes))
	}
	fuzz := make([]int, len(d.Axes))
	for i, axis := range recording.Header.Devices[device].Axes {
		fuzz[i] = d.Axes[i].Max() >> 8
		if axis.OSFilter != nil {
			fuzz[i] = axis.OSFilter.Fuzz
		}
	}
	var rows [][]int16
	var times []int64
	absent := 0
	for i, at := range recording.TimesUS {
		row := make([]int16, 0, len(columns))
		for c := range columns {
			if columns[c].PresentAt(i) {
				row = append(row, columns[c].Counts[i])
			}
		}
		if len(row) < len(columns) {
			absent++
			continue
		}
		rows, times = append(rows, row), append(times, at)
	}
	expected := Expected(d, sent, fuzz)
	match, err := Follow(rows, times, sent, expected)
	if err != nil {
		t.Fatal(err)
	}
	first, last := sent[0], sent[len(sent)-1]
	t.Logf("filter %v: %d reports sent at %.0f Hz, %d rows with all axes and %d without, showing %d reports; the start is certain to %v",
		fuzz, len(sent), float64(len(sent)-1)*1e9/float64(last.BeforeNS-first.BeforeNS),
		len(rows), absent, match.Seen, time.Duration(match.LatestNS-match.EarliestNS))
}

var _ = syscall.SIGKILL
