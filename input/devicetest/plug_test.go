//go:build device && linux

package devicetest

import (
	"fmt"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/devicetest/hid"
)

// Pedals that are pulled out and plugged in again go on in their columns, with
// the filter lifted again; others that are plugged in meanwhile, of the same
// kind, never land in them.
func TestReplugGoesOn(t *testing.T) {
	m := needMachine(t)
	rig := plugRig(t, m, "replug")
	recorder := startRecording(t, m, "replug")
	rig.moveAll(250)
	stick, pedals := rig.feeders[0], rig.feeders[1]
	stick.start("count 2s")
	pedals.start("count 1s", "unplug")
	rig.finish()
	said(t, recorder, "example-pedals was unplugged")

	others := newFeeder(t, m, "-device", "pedals", "-port", "example/elsewhere")
	said(t, recorder, "is of the same kind as example-pedals but in another port")
	others.end()

	pedals.do("plug")
	said(t, recorder, "example-pedals is back")
	pedals.do("await")
	rig.moveAll(250)
	rig.feed("count 2s", pedals)
	endRecording(t, recorder)
	recording, err := input.Open(filepath.Join(m.Share, "replug.csv"))
	if err != nil {
		t.Fatal(err)
	}
	var kinds []string
	var backUS int64
	for _, e := range recording.Events() {
		if e.Kind == input.HeldUp {
			continue // the machine is emulated
		}
		kinds = append(kinds, string(e.Kind))
		if e.Kind == input.Plugged {
			backUS = e.AtUS
		}
	}
	if got := strings.Join(kinds, " "); got != "unplugged stranger plugged" {
		t.Errorf("events %s", got)
	}
	checkListedFilters(t, m, false)
	rig.compare("replug", func(t *testing.T, c comparison) {
		after := map[int]bool{}
		for i, at := range c.rowsUS {
			if at > backUS {
				after[c.match.Reports[i]] = true
			}
		}
		t.Logf("%d reports were seen after the replug", len(after))
		if c.device.Name == hid.Pedals().Name && len(after) < 50 {
			t.Errorf("only %d reports are in the recording after the replug", len(after))
		}
	})
}

// said waits until the recording has told something on its terminal.
func said(t *testing.T, recorder *Process, what string) {
	t.Helper()
	eventually(t, 60*time.Second, func() error {
		if told := recorder.Stderr(); !strings.Contains(told, what) {
			return fmt.Errorf("the recording does not say %q but\n%s", what, told)
		}
		return nil
	})
}

// Two units of one kind keep their ids and columns by serial number, in
// whatever order they are plugged in again.
func TestTwinsKeepTheirColumns(t *testing.T) {
	m := needMachine(t)
	plug := func(unit string) *feeder {
		return newFeeder(t, m, "-device", "pedals", "-serial", "P-"+unit, "-port", "example/port-"+unit)
	}
	second := plug("2")
	first := plug("1")
	eventually(t, 60*time.Second, func() error {
		if n := len(listDevices(t, m)); n != 2 {
			return fmt.Errorf("%d devices are listed, want 2", n)
		}
		return nil
	})
	recorder := startRecording(t, m, "twins")
	move := func(f *feeder, code int) { f.do("await", fmt.Sprintf("move rx %d 400ms", code)) }
	move(first, 900)
	move(second, 100)
	first.do("unplug")
	second.do("unplug")
	said(t, recorder, "example-pedals was unplugged")
	said(t, recorder, "example-pedals-2 was unplugged")
	second.do("plug")
	said(t, recorder, "example-pedals-2 is back")
	first.do("plug")
	said(t, recorder, "example-pedals is back")
	move(second, 250)
	move(first, 800)
	time.Sleep(time.Second)
	endRecording(t, recorder)
	recording, err := input.Open(filepath.Join(m.Share, "twins.csv"))
	if err != nil {
		t.Fatal(err)
	}
	for serial, want := range map[string]struct {
		id    string
		moved []int
	}{"P-1": {"example-pedals", []int{900, 800}}, "P-2": {"example-pedals-2", []int{100, 250}}} {
		for c, column := range recording.Columns {
			device, axis := recording.AxisOf(c)
			if device.Serial != serial || axis.Index != 0 {
				continue
			}
			if device.ID != want.id {
				t.Errorf("the unit %s is called %s, want %s", serial, device.ID, want.id)
			}
			last := column.Len() - 1
			if top := hid.Pedals().Axes[0].Max(); !column.PresentAt(last) || column.At(last) != sdlCounts(want.moved[1], top) {
				t.Errorf("the column of %s ends at %d, want %d", serial, column.At(last), sdlCounts(want.moved[1], top))
			} else if !contains(column, sdlCounts(want.moved[0], top)) {
				t.Errorf("the column of %s was never at %d", serial, sdlCounts(want.moved[0], top))
			}
		}
	}
}

func contains(column input.Column, one int16) bool {
	for _, n := range column.Changes(0, column.Len()) {
		if n == one {
			return true
		}
	}
	return false
}

// Who may not read a controller is told which, and the command that allows it;
// having done what it does, he may.
func TestPermissionDenied(t *testing.T) {
	m := needMachine(t)
	plugRig(t, m, "denied")
	as := func(groups ...string) (*Process, error) {
		args := append([]string{"setpriv", "--reuid=1000", "--regid=1000"}, groups...)
		p, err := m.Start(Command{Args: append(args, program, "devices")})
		if err != nil {
			return nil, err
		}
		return p, p.Wait(60 * time.Second)
	}
	denied, err := as("--clear-groups")
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{"no controller can be read: Example ", "you may not read /dev/input/event", "sudo usermod -aG input $USER"} {
		if !strings.Contains(denied.Stderr(), part) {
			t.Errorf("it does not say %q but %s", part, denied.Stderr())
		}
	}
	if denied.Status != 1 {
		t.Errorf("status %d, want 1", denied.Status)
	}
	allowed, err := as("--groups=2") // input, as in the machine's /etc/group
	if err != nil || allowed.Status != 0 || !strings.Contains(allowed.Stdout(), "example-pedals: Example Pedals") {
		t.Errorf("with the group: %v, status %d, %s%s", err, allowed.Status, allowed.Stdout(), allowed.Stderr())
	}
}

// A watch on a terminal shows what moves and how often it reports, follows what
// is plugged in and out, and ends by Ctrl-C.
func TestWatchOnATerminal(t *testing.T) {
	m := needMachine(t)
	rig := plugRig(t, m, "watched")
	p, err := m.Start(Command{TTY: true, Args: []string{program, "devices", "--watch"}})
	if err != nil {
		t.Fatal(err)
	}
	shows := func(want string) {
		t.Helper()
		eventually(t, 60*time.Second, func() error {
			if got := p.Stdout(); !strings.Contains(got, want) {
				return fmt.Errorf("the terminal never shows %q, but ended with\n%s", want, tail(got, 12))
			}
			return nil
		})
	}
	shows("not moved yet")
	rig.start("await")
	rig.moveAll(125)
	rig.start("count 2s")
	shows("reports a second")
	shows("●")
	rig.finish()
	rig.feeders[1].do("unplug")
	shows("example-pedals was unplugged")
	if err := p.Write("\x03"); err != nil {
		t.Fatal(err)
	}
	if err := p.Wait(20 * time.Second); err != nil || p.Status != 0 {
		t.Errorf("after Ctrl-C: %v, status %d, signal %v", err, p.Status, p.Signal)
	}
}
