package bench

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/http/cookiejar"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"halfstick/curves"
	"halfstick/fit/propose"
	"halfstick/fit/translate"
	"halfstick/input"
	"halfstick/input/rig"
)

// hostile is a name that a device could give itself.
const hostile = `<img src=x onerror=alert(1)>"'&</title><script>alert(2)</script>`

const testHz = 250

// hostileSpecs is the default rig's pedals under a hostile name.
func hostileSpecs() []rig.DeviceSpec {
	specs := rig.DefaultSpecs(1)
	pedals := specs[len(specs)-1]
	pedals.Name = hostile
	return []rig.DeviceSpec{pedals}
}

// recorded is a short recording of the pedals, made once.
var recorded = sync.OnceValues(func() ([]byte, error) {
	r, err := rig.New(hostileSpecs(), 1)
	if err != nil {
		return nil, err
	}
	plan := rig.FullPlan
	plan.RestSeconds, plan.FlySeconds, plan.SweepSeconds, plan.Releases = 10, 30, 3, 3
	if err := r.SetScript(r.PlannedScript(plan)); err != nil {
		return nil, err
	}
	clock := &input.JumpClock{}
	src := r.Source(clock)
	var out bytes.Buffer
	w, err := input.NewWriter(&out, input.NewHeader(src, time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC), testHz))
	if err != nil {
		return nil, err
	}
	_, err = input.Record(context.Background(), src, w, input.RecordOptions{RateHz: testHz, For: r.Duration(), PhaseAt: r.PhaseAt, Clock: clock})
	if err != nil {
		return nil, err
	}
	return out.Bytes(), w.Close()
})

// counting is a source that never gives the same counts twice in a second, and
// keeps what it gave.
type counting struct {
	mu    sync.Mutex
	given [][2]int16
}

func (c *counting) Describe() string { return "counting" }

func (c *counting) Devices() []input.Device {
	return []input.Device{{ID: "pedals", Name: hostile, Axes: []input.Axis{
		{Label: "rudder", Kind: input.TwoSided}, {Label: "right-brake", Index: 1, Kind: input.OneSided},
	}}}
}

func (c *counting) Poll(counts []int16, present []bool) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	n := len(c.given)
	counts[0], counts[1] = int16(n*7-30000), int16(30000-n*3)
	present[0], present[1] = true, n%5 != 0
	c.given = append(c.given, [2]int16{counts[0], counts[1]})
	return nil
}

func (c *counting) Close() error { return nil }

func (c *counting) all() [][2]int16 {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.given[:len(c.given):len(c.given)]
}

// desk is a bench that runs, and a browser that was let in.
type desk struct {
	*Bench
	t    testing.TB
	base string
	http *http.Client
	end  func()
}

// config is a bench of the counting source in a new folder.
func config(t testing.TB) Config {
	return Config{
		Open: func() (input.Source, error) { return &counting{}, nil }, RateHz: testHz, Folder: t.TempDir(),
		Title: "Desk <b>", Tool: "test", Options: propose.Defaults(),
		Translate: func(curves.ProfileAxis, []byte, translate.Options) (string, error) { return "", fmt.Errorf("not here") },
	}
}

// withRecording lets a bench begin with the recorded pedals.
func withRecording(t testing.TB, c Config) Config {
	t.Helper()
	data, err := recorded()
	if err != nil {
		t.Fatal(err)
	}
	c.Prepare = func(context.Context) (string, error) {
		path := filepath.Join(c.Folder, "pedals.csv")
		return path, os.WriteFile(path, data, 0o600)
	}
	return c
}

func run(t testing.TB, c Config) *desk {
	t.Helper()
	b, err := New(c)
	if err != nil {
		t.Fatal(err)
	}
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	jar, _ := cookiejar.New(nil)
	ctx, cancel := context.WithCancel(context.Background())
	d := &desk{Bench: b, t: t, base: "http://" + l.Addr().String(), http: &http.Client{Jar: jar}}
	url, done := make(chan string, 1), make(chan error, 1)
	go func() { done <- b.Run(ctx, l, func(u string) { url <- u }) }()
	d.end = sync.OnceFunc(func() {
		cancel()
		if err := <-done; err != nil {
			t.Error(err)
		}
	})
	t.Cleanup(d.end)
	response, err := d.http.Get(<-url)
	if err != nil {
		t.Fatal(err)
	}
	response.Body.Close()
	if response.StatusCode != http.StatusOK {
		t.Fatalf("the printed address gives %s", response.Status)
	}
	if c.Prepare != nil {
		d.until("the recording is measured", func() bool { return b.analysis.Load() != nil })
	}
	return d
}

func (d *desk) until(what string, is func() bool) {
	d.t.Helper()
	for end := time.Now().Add(time.Minute); !is(); time.Sleep(5 * time.Millisecond) {
		if time.Now().After(end) {
			d.t.Fatalf("waited a minute for: %s (%+v)", what, d.stateNow())
		}
	}
}

// get fetches a path.
func (d *desk) get(path string) (status int, header http.Header, body string) {
	d.t.Helper()
	response, err := d.http.Get(d.base + path)
	if err != nil {
		d.t.Fatal(err)
	}
	defer response.Body.Close()
	data, err := io.ReadAll(response.Body)
	if err != nil {
		d.t.Fatal(err)
	}
	return response.StatusCode, response.Header, string(data)
}

// post sends a wish as the page does and reads the answer.
func (d *desk) post(path string, wish, answer any) error {
	d.t.Helper()
	body, err := json.Marshal(wish)
	if err != nil {
		d.t.Fatal(err)
	}
	r, err := http.NewRequest(http.MethodPost, d.base+path, bytes.NewReader(body))
	if err != nil {
		d.t.Fatal(err)
	}
	r.Header.Set("Origin", d.base)
	r.Header.Set(tokenHeader, d.token)
	response, err := d.http.Do(r)
	if err != nil {
		d.t.Fatal(err)
	}
	defer response.Body.Close()
	data, _ := io.ReadAll(response.Body)
	if response.StatusCode != http.StatusOK {
		return fmt.Errorf("%s: %s", response.Status, strings.TrimSpace(string(data)))
	}
	if answer != nil {
		if err := json.Unmarshal(data, answer); err != nil {
			d.t.Fatalf("%s: %v in %s", path, err, data)
		}
	}
	return nil
}
