//go:build device && linux

package devicetest

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/devicetest/hid"
)

const program = "./halfstick"

// listedDevice is what `devices --json` says of one device.
type listedDevice struct {
	ID, Name, GUID, Path string
	Vendor, Product      uint16
	Serial, Port         string
	Labels, Usages       []string
	Notes                []string
	Filters              []input.OSFilter `json:"os_filters"`
}

func listDevices(t *testing.T, m *Machine) []listedDevice {
	t.Helper()
	out, err := m.Run(60*time.Second, program, "devices", "--json")
	if err != nil {
		t.Fatal(err)
	}
	var listed []listedDevice
	if err := json.Unmarshal([]byte(out), &listed); err != nil {
		t.Fatalf("%v in %s", err, out)
	}
	for _, d := range listed {
		if len(d.GUID) != 32 || !strings.HasPrefix(d.Path, "/dev/input/event") {
			t.Errorf("%s has GUID %q and path %q", d.Name, d.GUID, d.Path)
		}
	}
	return listed
}

func TestDevicesAreListed(t *testing.T) {
	m := needMachine(t)
	plugRig(t, m, "listed")
	want := map[string]string{
		"Example Stick": "f1f1 0001 at example/stick [x y rz throttle] [0x010030 0x010031 0x010035 ] " +
			`[{"fuzz":255,"flat":4095},{"fuzz":255,"flat":4095},{"fuzz":63,"flat":1023},{"fuzz":63,"flat":1023}]`,
		"Example Pedals": "f1f1 0002 at example/pedals [rx ry rudder] [0x010033 0x010034 ] " +
			`[{"fuzz":3,"flat":63},{"fuzz":3,"flat":63},{"fuzz":3,"flat":63}]`,
	}
	for _, d := range listDevices(t, m) {
		filters, err := json.Marshal(d.Filters)
		if err != nil {
			t.Fatal(err)
		}
		got := fmt.Sprintf("%04x %04x at %s %v %v %s", d.Vendor, d.Product, d.Port, d.Labels, d.Usages, filters)
		if got != want[d.Name] {
			t.Errorf("%s is listed as %s, want %s", d.Name, got, want[d.Name])
		}
		delete(want, d.Name)
	}
	if len(want) > 0 {
		t.Errorf("not listed: %v", want)
	}
}

// Two units of one kind have the same GUID; ids and paths tell them apart.
func TestIdenticalDevicesAreListedApart(t *testing.T) {
	m := needMachine(t)
	for _, unit := range []string{"1", "2"} {
		newFeeder(t, m, "-device", "pedals", "-serial", "P-"+unit, "-port", "example/port-"+unit)
	}
	eventually(t, 60*time.Second, func() error {
		listed := listDevices(t, m)
		if len(listed) != 2 {
			return fmt.Errorf("%d devices are listed, want 2", len(listed))
		}
		a, b := listed[0], listed[1]
		if a.GUID != b.GUID || a.ID == b.ID || a.Path == b.Path {
			t.Fatalf("the two are listed as %+v and %+v", a, b)
		}
		return nil
	})
}

func TestRecordingMatchesWhatWasSent(t *testing.T) {
	m := needMachine(t)
	for _, rate := range []int{125, 500, 1000} {
		t.Run(fmt.Sprint(rate), func(t *testing.T) { recordStream(t, m, rate) })
	}
}

func recordStream(t *testing.T, m *Machine, rate int) {
	name := fmt.Sprintf("stream-%d", rate)
	rig := plugRig(t, m, name)
	recorder := startRecording(t, m, name)
	rig.moveAll(rate)
	rig.feed("count 2s", rig.feeders...)
	endRecording(t, recorder)
	t.Log(strings.TrimSpace(recorder.Stderr()))
	rig.compare(name, func(t *testing.T, c comparison) {
		if c.match.Seen < 100 {
			t.Errorf("only %d reports are in the recording", c.match.Seen)
		}
		// Had the kernel filtered, the recording would look otherwise.
		if _, err := c.followThrough(kernelFuzz(c.sends)); err == nil {
			t.Error("the recording is also what the kernel's filter would have left")
		}
	})
}

// Noise well below the kernel's filter is in the recording, count for count.
func TestNoiseIsRecordedWhole(t *testing.T) {
	m := needMachine(t)
	rig := plugRig(t, m, "noise")
	recorder := startRecording(t, m, "noise")
	rig.moveAll(250)
	// Away from the stops, which would cut the noise: reports would repeat.
	rig.feeders[0].start("move x 32768 200ms", "move y 60000 100ms", "move rz 12000 100ms", "move slider 12000 100ms")
	rig.feed("still 2s 100", rig.feeders[0])
	endRecording(t, recorder)
	rig.compare("noise", func(t *testing.T, c comparison) {
		values := map[int16]bool{}
		for _, row := range c.rows {
			if row[0] >= -100 && row[0] <= 100 {
				values[row[0]] = true
			}
		}
		// Behind the kernel's filter of 255 there would be one or two.
		if c.sends.Name == hid.Stick().Name && len(values) < 60 {
			t.Errorf("the noise of 201 values has left %d", len(values))
		}
	})
}

// A recording whose program is killed is readable and lacks at most its last
// second.
func TestKilledRecordingIsReadable(t *testing.T) {
	m := needMachine(t)
	rig := plugRig(t, m, "killed")
	recorder := startRecording(t, m, "killed")
	rig.moveAll(250)
	rig.start("count 6s")
	time.Sleep(5 * time.Second)
	if err := recorder.Kill(syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	if err := recorder.Wait(10 * time.Second); err != nil || recorder.Signal != syscall.SIGKILL {
		t.Fatalf("killed: %v, by %v", err, recorder.Signal)
	}
	rig.finish()
	rig.compare("killed", func(t *testing.T, c comparison) {
		// The devices send no longer than they are held open, so the last
		// report went out when the program was killed.
		shown := c.sent[c.match.Reports[len(c.match.Reports)-1]]
		lost := time.Duration(c.sent[len(c.sent)-1].BeforeNS - shown.BeforeNS)
		// Where the machine stands still, nothing is written either.
		most := 1200*time.Millisecond + longestPause(c.sent)
		t.Logf("the last %v are lost, of at most %v", lost, most)
		if lost > most {
			t.Errorf("the last %v are lost, more than %v", lost, most)
		}
	})
}

// longestPause is how long the machine sent nothing while it was to send all the
// time.
func longestPause(sent []Sent) time.Duration {
	longest := int64(0)
	for i := 1; i < len(sent); i++ {
		longest = max(longest, sent[i].BeforeNS-sent[i-1].BeforeNS)
	}
	return time.Duration(longest)
}

// A device that is unplugged leaves empty cells, and no value that it did not
// send; the other one goes on.
func TestUnpluggedDeviceLeavesEmptyCells(t *testing.T) {
	m := needMachine(t)
	rig := plugRig(t, m, "unplugged")
	recorder := startRecording(t, m, "unplugged")
	rig.moveAll(250)
	stick, pedals := rig.feeders[0], rig.feeders[1]
	stick.start("count 5s")
	pedals.start("count 1s", "unplug")
	rig.finish()
	endRecording(t, recorder)
	rig.compare("unplugged", func(t *testing.T, c comparison) {
		// An update or two may pass before SDL learns of it.
		last := c.rowsUS[len(c.rowsUS)-1]
		gone := time.Duration(c.endUS-last) * time.Microsecond
		t.Logf("present until %v before the end", gone)
		if wantGone := c.device.Name == hid.Pedals().Name; wantGone != (gone > time.Second) {
			t.Errorf("present until %v before the end", gone)
		}
	})
}

// Whatever way a recording ends that the program can see, the kernel's filter is
// lifted during it and back after it.
func TestFilterIsPutBack(t *testing.T) {
	m := needMachine(t)
	plugRig(t, m, "filter")
	for name, signal := range map[string]syscall.Signal{
		"interrupted": syscall.SIGINT, "terminated": syscall.SIGTERM, "hung-up": syscall.SIGHUP,
		"quit": syscall.SIGQUIT, "by-itself": 0,
	} {
		t.Run(name, func(t *testing.T) {
			recorder := startRecording(t, m, name, "--for", map[bool]string{true: "2s", false: "30m"}[signal == 0])
			if signal != 0 {
				// One that ends by itself may be over before the list is made.
				checkListedFilters(t, m, true)
				if err := recorder.Kill(signal); err != nil {
					t.Fatal(err)
				}
			}
			if err := recorder.Wait(60 * time.Second); err != nil || recorder.Status != 0 {
				t.Fatalf("recording: %v, status %d: %s", err, recorder.Status, recorder.Stderr())
			}
			checkListedFilters(t, m, false)
			recording, err := input.Open(filepath.Join(m.Share, name+".csv"))
			if err != nil {
				t.Fatal(err)
			}
			if filter := recording.Header.Devices[0].Axes[0].OSFilter; filter.Fuzz != 0 || filter.Extra["lifted"] == nil {
				t.Errorf("the filter is noted as %+v", filter)
			}
		})
	}
	t.Run("kept", func(t *testing.T) {
		recorder := startRecording(t, m, "kept", "--keep-system-filter")
		checkListedFilters(t, m, false)
		endRecording(t, recorder)
		recording, err := input.Open(filepath.Join(m.Share, "kept.csv"))
		if err != nil {
			t.Fatal(err)
		}
		if filter := recording.Header.Devices[0].Axes[0].OSFilter; filter.Fuzz == 0 || filter.Left != input.LeftAsked {
			t.Errorf("the filter that was kept is noted as %+v", filter)
		}
	})
}

// checkListedFilters checks whether the kernel filters, as another process sees
// it meanwhile.
func checkListedFilters(t *testing.T, m *Machine, lifted bool) {
	t.Helper()
	axes := 0
	for _, d := range listDevices(t, m) {
		for i, filter := range d.Filters {
			axes++
			if got := filter.Fuzz == 0 && filter.Flat == 0; got != lifted {
				t.Errorf("the filter of %s, %s, is %d and %d; want it lifted: %v", d.Name, d.Labels[i], filter.Fuzz, filter.Flat, lifted)
			}
		}
	}
	if axes == 0 {
		t.Error("no axis was listed with its filter")
	}
}

// rig is the stick and the pedals, plugged in.
type rig struct {
	t       *testing.T
	machine *Machine
	name    string // what its files are called after
	devices []hid.Device
	feeders []*feeder
}

func plugRig(t *testing.T, m *Machine, name string) *rig {
	t.Helper()
	r := &rig{t: t, machine: m, name: name, devices: []hid.Device{hid.Stick(), hid.Pedals()}}
	for _, device := range []string{"stick", "pedals"} {
		r.feeders = append(r.feeders, newFeeder(t, m, "-device", device))
	}
	waitListed(t, m, hid.Stick().Name, hid.Pedals().Name)
	return r
}

// moveAll moves every axis to its end: SDL keeps an axis at its first reading
// until it has moved away from it.
func (r *rig) moveAll(rate int) {
	r.t.Helper()
	for i, f := range r.feeders {
		f.start(fmt.Sprintf("rate %d", rate))
		for _, axis := range r.devices[i].Axes {
			f.start(fmt.Sprintf("move %s %d 300ms", axis.Name, axis.Max()))
		}
	}
	r.finish()
}

func (r *rig) start(lines ...string) {
	r.t.Helper()
	for _, f := range r.feeders {
		f.start(lines...)
	}
}

// feed has devices do something again and again, until the recording has
// hundreds of rows of it: on a host that is too busy there are few in a second.
func (r *rig) feed(line string, feeders ...*feeder) {
	r.t.Helper()
	rows := func() int {
		content, err := os.ReadFile(filepath.Join(r.machine.Share, r.name+".csv"))
		if err != nil {
			r.t.Fatal(err)
		}
		return strings.Count(string(content), "\n")
	}
	for deadline, before := time.Now().Add(2*time.Minute), rows(); rows() < before+500; {
		if time.Now().After(deadline) {
			r.t.Fatalf("in 2 minutes the recording has had %d rows more", rows()-before)
		}
		for _, f := range feeders {
			f.start(line)
		}
		r.finish()
	}
}

func (r *rig) finish() {
	r.t.Helper()
	for _, f := range r.feeders {
		f.finish(60 * time.Second)
	}
}

// startRecording starts a recording and waits until its first rows are in the
// file.
func startRecording(t *testing.T, m *Machine, name string, args ...string) *Process {
	t.Helper()
	args = append([]string{program, "record", "--rate", "1000", "-o", name + ".csv"}, args...)
	recorder, err := m.Start(Command{Args: args})
	if err != nil {
		t.Fatal(err)
	}
	eventually(t, 60*time.Second, func() error {
		content, err := os.ReadFile(filepath.Join(m.Share, name+".csv"))
		if err == nil && strings.Count(string(content), "\n") < 5 {
			err = errors.New("the recording has no row yet")
		}
		if err != nil {
			err = fmt.Errorf("%w: %s", err, recorder.Stderr())
		}
		return err
	})
	return recorder
}

// endRecording ends a recording as Ctrl-C does.
func endRecording(t *testing.T, recorder *Process) {
	t.Helper()
	if err := recorder.Kill(syscall.SIGINT); err != nil {
		t.Fatal(err)
	}
	if err := recorder.Wait(60 * time.Second); err != nil || recorder.Status != 0 {
		t.Fatalf("recording: %v, status %d: %s", err, recorder.Status, recorder.Stderr())
	}
}

// comparison is one device's part of a recording beside what it sent.
type comparison struct {
	sends  hid.Device
	device input.Device // as the recording has it
	sent   []Sent
	rowsUS []int64 // instants of the rows in which every axis is present,
	endUS  int64   // and of the last row
	rows   [][]int16
	match  Match
}

// compare holds the recording of that name against what the rig has sent, and
// hands the outcome for each device to check.
func (r *rig) compare(name string, check func(*testing.T, comparison)) {
	r.t.Helper()
	recording, err := input.Open(filepath.Join(r.machine.Share, name+".csv"))
	if err != nil {
		r.t.Fatal(err)
	}
	if len(recording.Header.Devices) != len(r.devices) {
		r.t.Fatalf("the recording has %d devices, want %d", len(recording.Header.Devices), len(r.devices))
	}
	for i, d := range r.devices {
		file := fmt.Sprintf("%s-%d.csv", r.name, i)
		r.feeders[i].do("save " + file)
		sent, err := ReadSent(filepath.Join(r.machine.Share, file))
		if err != nil {
			r.t.Fatal(err)
		}
		r.t.Run(d.Name, func(t *testing.T) {
			device := slices.IndexFunc(recording.Header.Devices, func(in input.Device) bool { return in.Name == d.Name })
			if device < 0 {
				t.Fatal("it is not in the recording")
			}
			c := comparison{sends: d, device: recording.Header.Devices[device], sent: sent, endUS: recording.Times.At(recording.Rows() - 1)}
			c.rows, c.rowsUS = wholeRows(recording, device)
			c.match = c.follow(t)
			check(t, c)
		})
	}
}

// follow finds the report that each row shows. The recording says that the
// kernel's filter was lifted, which was the one that the kernel sets.
func (c comparison) follow(t *testing.T) Match {
	t.Helper()
	for i, axis := range c.device.Axes {
		fuzz := kernelFuzz(c.sends)[i]
		want := fmt.Sprintf(`{"fuzz":0,"flat":0,"lifted":{"fuzz":%d,"flat":%d}}`, fuzz, c.sends.Axes[i].Max()>>4)
		if got, err := json.Marshal(axis.OSFilter); err != nil || string(got) != want {
			t.Errorf("the filter of %s is noted as %s, want %s", axis.Label, got, want)
		}
	}
	match, err := c.followThrough(make([]int, len(c.sends.Axes)))
	if err != nil {
		t.Fatal(err)
	}
	took := float64(c.sent[len(c.sent)-1].BeforeNS-c.sent[0].BeforeNS) / 1e9
	t.Logf("%d reports sent at %.0f Hz; %d rows have all axes and show %d reports; the start is certain to %v",
		len(c.sent), float64(len(c.sent)-1)/took, len(c.rows), match.Seen,
		time.Duration(match.LatestNS-match.EarliestNS))
	return match
}

// followThrough finds the reports if the kernel's filter is fuzz.
func (c comparison) followThrough(fuzz []int) (Match, error) {
	return Follow(c.rows, c.rowsUS, c.sent, Expected(c.sends, c.sent, fuzz))
}

// kernelFuzz is the filter that the kernel sets, one an axis
// (hidinput_configure_usage in drivers/hid/hid-input.c).
func kernelFuzz(d hid.Device) []int {
	var fuzz []int
	for _, axis := range d.Axes {
		fuzz = append(fuzz, axis.Max()>>8)
	}
	return fuzz
}

// wholeRows are the rows in which every axis of a device is present.
func wholeRows(recording *input.Recording, device int) (rows [][]int16, timesUS []int64) {
	for i, at := range recording.Times.All() {
		var row []int16
		whole := true
		for _, column := range recording.Columns {
			if column.Device == device {
				row = append(row, column.At(i))
				whole = whole && column.PresentAt(i)
			}
		}
		if whole {
			rows, timesUS = append(rows, row), append(timesUS, at)
		}
	}
	return rows, timesUS
}
