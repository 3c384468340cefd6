//go:build device && linux

package devicetest

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"halfstick/input/devicetest/hid"
)

// readmeCommands are the commands of the README's section about controllers of
// one's own, word by word.
func readmeCommands(t *testing.T) []string {
	t.Helper()
	content, err := os.ReadFile("../../README.md")
	if err != nil {
		t.Fatal(err)
	}
	_, section, found := strings.Cut(string(content), "## With your own controllers\n")
	section, _, ended := strings.Cut(section, "\n## ")
	if !found || !ended {
		t.Fatal("the README has no section about controllers of one's own")
	}
	var commands []string
	for _, block := range regexp.MustCompile("(?s)```\n(.*?)```").FindAllStringSubmatch(section, -1) {
		whole := strings.ReplaceAll(block[1], "\\\n", " ")
		commands = append(commands, strings.Split(strings.TrimSpace(whole), "\n")...)
	}
	return commands
}

// readmeCommand is the one that begins and goes on so.
func readmeCommand(t *testing.T, begins, has string) string {
	t.Helper()
	for _, command := range readmeCommands(t) {
		if strings.HasPrefix(command, begins) && strings.Contains(command, has) {
			return command
		}
	}
	t.Fatalf("the README has no command %q with %q", begins, has)
	return ""
}

// inShell starts a command of the README in the m.
func inShell(t *testing.T, m *Machine, command string, terminal bool) *Process {
	t.Helper()
	p, err := m.Start(Command{Args: []string{"sh", "-c", "exec " + command}, TTY: terminal})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// The pedals of the README: a rudder that comes to rest 40 codes apart from its
// two sides, and a left brake.
func rudder() *control    { return &control{axis: "z", low: 40, high: 4050, rest: [2]int{2028, 2068}} }
func leftBrake() *control { return &control{axis: "x", low: 60, high: 4000, rest: [2]int{60, 60}} }

const pedalNoise = 3 // ± codes

// plugPedals plugs them in, the brakes up.
func plugPedals(t *testing.T, m *Machine) *feeder {
	t.Helper()
	f := newFeeder(t, m, "-device", "plain-pedals")
	f.do("move x 60 50ms", "move y 60 50ms")
	waitListed(t, m, hid.PlainPedals().Name)
	return f
}

// The README's guide leads a hand on real HID pedals through one axis, from its
// name on; what comes of it has the values of those pedals.
func TestGuideLeadsAHand(t *testing.T) {
	m := needMachine(t)
	h := &hand{feeder: plugPedals(t, m), controls: map[string]*control{"rudder": rudder()}, noise: pedalNoise}
	command := readmeCommand(t, "./halfstick record", "--guide")
	resume := command + " --resume"
	file := filepath.Join(m.Share, "pedals.csv")
	defer os.Remove(file)
	command += " --axis rudder"
	// On a host that is too busy the machine stands still in the middle of a
	// step, and the guide may give it up; then it is gone on with.
	for range 4 {
		p := inShell(t, m, command, false)
		h.obey(t, p, p.Stderr)
		t.Log(p.Stderr())
		if err := p.Wait(time.Second); err != nil || p.Status != 0 {
			t.Fatalf("%s: %v, status %d", command, err, p.Status)
		}
		if command = resume; strings.Contains(p.Stderr(), "all that a measurement needs is recorded") {
			break
		}
	}
	checkListedFilters(t, m, false)
	out, err := m.Run(60*time.Second, "sh", "-c", "exec "+resume+" 2>&1")
	if err != nil || !strings.Contains(out, "nothing is missing in pedals.csv") {
		t.Errorf("%s: %v: %s", resume, err, out)
	}
	checkRudder(t, m, file)
}

// quantity and measured are what is looked at of `measure --json`.
type quantity struct {
	Value float64
	Unit  string
}

type measured struct {
	Label    string
	Travel   struct{ Low, High *quantity }
	Rest     struct{ Sigma *quantity }
	Return   struct{ Gap *quantity }
	Findings []struct{ Code, Says string }
	Notes    []string
}

// measuredRudder has the program measure a recording.
func measuredRudder(t *testing.T, m *Machine, file string) measured {
	t.Helper()
	out, err := exec.Command(filepath.Join(m.Share, "halfstick"), "measure", "--json", file).Output()
	if err != nil {
		t.Fatal(err)
	}
	var all struct{ Axes []measured }
	if err := json.Unmarshal(out, &all); err != nil {
		t.Fatal(err)
	}
	for _, axis := range all.Axes {
		if axis.Label == "rudder" {
			return axis
		}
	}
	t.Fatalf("there is no rudder in %s", out)
	return measured{}
}

// checkRudder holds what is measured of a recording against the pedals.
func checkRudder(t *testing.T, m *Machine, file string) {
	t.Helper()
	axis := measuredRudder(t, m, file)
	for _, f := range axis.Findings {
		t.Log(f.Code, f.Says)
		if f.Code == "hidden-by-system" || f.Code == "too-little-data" {
			t.Errorf("%s: %s", f.Code, f.Says)
		}
	}
	counts := func(code int) float64 { return float64(sdlCounts(code, hid.PlainPedals().Axes[2].Max())) }
	c, code := rudder(), 65535/4095.0
	// A uniform noise of ±n codes has the variance n(n+1)/3.
	sigma := math.Sqrt(pedalNoise*(pedalNoise+1)/3.0) * code
	for name, q := range map[string]struct {
		got        *quantity
		want, near float64
	}{
		"low":   {axis.Travel.Low, counts(c.low), 8 * code},
		"high":  {axis.Travel.High, counts(c.high), 8 * code},
		"sigma": {axis.Rest.Sigma, sigma, 0.1 * sigma},
		"gap":   {axis.Return.Gap, counts(c.rest[1]) - counts(c.rest[0]), 2 * code},
	} {
		if q.got == nil {
			t.Errorf("%s is not measured; notes %q", name, axis.Notes)
			continue
		}
		t.Logf("%s %.1f %s, true %.1f", name, q.got.Value, q.got.Unit, q.want)
		if math.Abs(q.got.Value-q.want) > q.near {
			t.Errorf("%s is %.1f, not within %.1f of %.1f", name, q.got.Value, q.near, q.want)
		}
	}
}

// The README's section is followed to its end, but for the guide, which has a
// test of its own. Recordings are made in the machine, their long phases cut;
// what only reads files runs beside it, which is faster and no different.
func TestReadmeIsFollowed(t *testing.T) {
	m := needMachine(t)
	h := &hand{feeder: plugPedals(t, m), controls: map[string]*control{"rudder": rudder(), "left-brake": leftBrake()}, noise: pedalNoise}
	readings, err := os.ReadFile("../../testdata/readings/example.csv")
	if err == nil {
		err = os.WriteFile(filepath.Join(m.Share, "readings.csv"), readings, 0o644)
	}
	if err != nil {
		t.Fatal(err)
	}
	for _, command := range readmeCommands(t) {
		verb, _, _ := strings.Cut(strings.TrimPrefix(command, "./halfstick "), " ")
		switch {
		case verb == "devices":
			out, err := m.Run(60*time.Second, "sh", "-c", "exec "+command)
			if err != nil || !strings.Contains(out, "pedals: Pedals") {
				t.Errorf("%s: %v: %s", command, err, out)
			}
		case strings.Contains(command, "--guide"):
		case verb == "record":
			h.record(t, m, cutPhases(command))
		default:
			beside(t, m, command)
		}
	}
	for file, has := range map[string]string{
		"sheet.html": "rudder", "profile.json": `"rudder"`, "frontier.svg": "<svg", "curves.svg": "<svg", "replay.svg": "<svg",
	} {
		content, err := os.ReadFile(filepath.Join(m.Share, file))
		if err != nil || !bytes.Contains(content, []byte(has)) {
			t.Errorf("%s: %v, without %s", file, err, has)
		}
	}
	checkListedFilters(t, m, false)
}

// cutPhases cuts phases that take longer than the hand needs.
func cutPhases(command string) string {
	return regexp.MustCompile(`=\d+s`).ReplaceAllStringFunc(command, func(lasts string) string {
		seconds, err := strconv.Atoi(lasts[1 : len(lasts)-1])
		if err != nil {
			return lasts
		}
		return "=" + strconv.Itoa(min(seconds, 16)) + "s"
	})
}

// record makes a recording on a terminal, which says what to do and when; a
// flight is ended by Ctrl-C.
func (h *hand) record(t *testing.T, m *Machine, command string) {
	t.Helper()
	p := inShell(t, m, command, true)
	if strings.Contains(command, "flight") {
		eventually(t, 60*time.Second, func() error {
			if !strings.Contains(p.Stdout(), "fly as usual") {
				return fmt.Errorf("it does not say to fly but %s", tail(p.Stdout(), 5))
			}
			return nil
		})
		h.at = map[string]int{}
		h.feeder.do("await")
		h.feeder.do(h.piece("fly as usual", true)...)
		if err := p.Write("\x03"); err != nil {
			t.Fatal(err)
		}
	} else {
		h.obey(t, p, p.Stdout)
	}
	if err := p.Wait(60 * time.Second); err != nil || p.Status != 0 {
		t.Fatalf("%s: %v, status %d: %s", command, err, p.Status, tail(p.Stdout(), 10))
	}
}

// beside runs a command of the README on the machine's files.
func beside(t *testing.T, m *Machine, command string) {
	t.Helper()
	run := exec.Command("sh", "-c", "exec "+command)
	run.Dir = m.Share
	if out, err := run.CombinedOutput(); err != nil {
		t.Errorf("%s: %v: %s", command, err, out)
	} else {
		t.Logf("%s\n%s", command, tail(string(out), 6))
	}
}
