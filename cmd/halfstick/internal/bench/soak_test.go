//go:build soak

package bench

import (
	"bufio"
	"encoding/binary"
	"fmt"
	"io"
	"net"
	"net/url"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/rig"
)

const (
	soakHz = 500
	// stayFor is how long pages are left open, and a browser that does not read
	// is left alone: longer than the bench is patient with one.
	stayFor = patience + 3*time.Second
	// restFor lies between two rounds of visits.
	restFor = 2 * time.Second
)

// logged keeps all that a source gave, in a file.
type logged struct {
	input.Source
	axes int
	out  *bufio.Writer
}

func (l *logged) Poll(counts []int16, present []bool) error {
	err := l.Source.Poll(counts, present)
	l.axes = len(counts)
	if err == nil {
		err = binary.Write(l.out, binary.LittleEndian, counts)
	}
	return err
}

// held is what the program holds on to when no page is open.
type held struct {
	heap, goroutines, files, kept int
}

func (d *desk) held() held {
	d.until("all pages are forgotten", func() bool {
		d.streams.mu.Lock()
		defer d.streams.mu.Unlock()
		return len(d.streams.open) == 0
	})
	d.http.CloseIdleConnections()
	time.Sleep(time.Second) // connections that were closed are let go
	runtime.GC()
	runtime.GC()
	var memory runtime.MemStats
	runtime.ReadMemStats(&memory)
	files, err := os.ReadDir("/proc/self/fd")
	if err != nil {
		d.t.Skip("not run: the open files are counted on Linux only: ", err)
	}
	kept, err := os.ReadDir(d.config.Folder)
	if err != nil {
		d.t.Fatal(err)
	}
	return held{heap: int(memory.HeapAlloc), goroutines: runtime.NumGoroutine(), files: len(files), kept: len(kept)}
}

// visit is a round of browsers that come and go: two pages, of which one shapes
// and undoes, and one goes without a word; one that hangs up in the middle of an
// answer; and one that asks for the live rows and never reads them.
func (d *desk) visit(t *testing.T, round int) {
	here := *d
	here.t = t
	deaf := here.connect(t, "/live")
	defer deaf.Close()
	brief := here.connect(t, "/sheet")
	if _, err := brief.Read(make([]byte, 100)); err != nil {
		t.Error(err)
	}
	brief.Close()

	shaping, watching := here.browse(), here.browse()
	shaping.seesAxis("rudder")
	watching.seesAxis("rudder")
	value := fmt.Sprintf("%d.50", 4+round%5)
	eval[bool](shaping, fmt.Sprintf(`((field) => { field.value = %q; field.dispatchEvent(new Event("change")); return true; })(document.getElementById("field-deadband-low"))`, value))
	watching.seesField("deadband-low", value)
	shaping.click(`.try button`)
	shaping.sees("the marks move", `document.querySelector(".try > p.small").textContent.startsWith("straight at")`)
	watching.click(`[data-key="undo"]`)
	time.Sleep(stayFor)
	watching.close()
}

// connect asks for a path as a browser that was let in, by hand.
func (d *desk) connect(t *testing.T, path string) net.Conn {
	t.Helper()
	host := strings.TrimPrefix(d.base, "http://")
	c, err := net.Dial("tcp", host)
	if err != nil {
		t.Fatal(err)
	}
	_, err = fmt.Fprintf(c, "GET %s HTTP/1.1\r\nHost: %s\r\nCookie: %s\r\n\r\n", path, host, d.cookie())
	if err != nil {
		t.Fatal(err)
	}
	return c
}

// cookie is what lets the desk's browser in.
func (d *desk) cookie() string {
	var all []string
	for _, c := range d.http.Jar.Cookies(&url.URL{Scheme: "http", Host: strings.TrimPrefix(d.base, "http://"), Path: "/"}) {
		all = append(all, c.Name+"="+c.Value)
	}
	return strings.Join(all, "; ")
}

// The bench samples and records a flight while browsers come and go, for as long
// as HALFSTICK_SOAK says. It holds on to no more at the end than it did near the
// beginning, and every row that it sampled is in the file.
func TestSoak(t *testing.T) {
	lasts, err := time.ParseDuration(os.Getenv("HALFSTICK_SOAK"))
	if err != nil {
		t.Fatalf("HALFSTICK_SOAK: %v; set it to a duration such as 2m", err)
	}
	log, err := os.Create(filepath.Join(t.TempDir(), "polls"))
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	source := &logged{out: bufio.NewWriterSize(log, 1<<20)}
	c := withRecording(t, config(t))
	c.RateHz = soakHz
	c.Open = func() (input.Source, error) {
		specs := rig.DefaultSpecs(1)
		specs[len(specs)-1].Name = hostile
		r, err := rig.New(specs, 1)
		if err != nil {
			return nil, err
		}
		clock := input.SystemClock()
		source.Source = r.Source(&since{clock, clock.Now()})
		return source, r.SetLive(&rig.Live{Fly: true})
	}
	d := run(t, c)
	d.until("there is a rig", func() bool { return len(d.sampler.now().Devices) > 0 })
	columns := d.columnsOf(d.sampler.now().Devices)
	if err := d.post("/flight", map[string]any{"do": "begin"}, nil); err != nil {
		t.Fatal(err)
	}

	var all []held
	began := time.Now()
	for round := 0; time.Since(began) < lasts || len(all) < 5; round++ {
		if !t.Run(fmt.Sprintf("round %d", round), func(t *testing.T) { d.visit(t, round) }) {
			t.FailNow()
		}
		now := d.held()
		t.Logf("%4.0f s: heap %.1f MB, %d goroutines, %d open files, %d files kept", time.Since(began).Seconds(), float64(now.heap)/1e6, now.goroutines, now.files, now.kept)
		all = append(all, now)
		time.Sleep(restFor)
	}
	// The first rounds fill what is filled once.
	first, last := typical(all[1:max(3, len(all)/4)]), typical(all[len(all)-max(2, len(all)/4):])
	if last.heap > first.heap+first.heap/10+1<<20 {
		t.Errorf("the heap grew from %d to %d bytes", first.heap, last.heap)
	}
	if last.goroutines > first.goroutines+2 || last.files > first.files+2 || last.kept > first.kept {
		t.Errorf("held near the beginning %+v, at the end %+v", first, last)
	}
	if err := d.post("/flight", map[string]any{"do": "end"}, nil); err != nil {
		t.Fatal(err)
	}
	d.until("the flight is looked at", func() bool { return len(d.session.Flights()) == 1 && d.stateNow().Busy == "" })
	flight := d.session.Flights()[0]
	d.end()
	if err := source.out.Flush(); err != nil {
		t.Fatal(err)
	}
	compareRows(t, flight, log, source.axes, columns)
}

// columnsOf are the rig's columns of the axes that are recorded.
func (d *desk) columnsOf(live []input.Device) (columns []int) {
	_, columns, err := d.flown(live)
	if err != nil {
		d.t.Fatal(err)
	}
	return columns
}

// typical is the middle of each.
func typical(all []held) held {
	middle := func(of func(held) int) int {
		var v []int
		for _, h := range all {
			v = append(v, of(h))
		}
		slices.Sort(v)
		return v[len(v)/2]
	}
	return held{
		middle(func(h held) int { return h.heap }), middle(func(h held) int { return h.goroutines }),
		middle(func(h held) int { return h.files }), middle(func(h held) int { return h.kept }),
	}
}

// compareRows finds the rows of a recording, one behind the other and none left
// out, in what the source gave; what the clock left out it tells.
func compareRows(t *testing.T, path string, log *os.File, axes int, columns []int) {
	t.Helper()
	r, err := input.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range r.Events() {
		t.Logf("noted at %.1f s: %s, %g s, %d rows", float64(e.AtUS)/1e6, e.Kind, e.Seconds, e.Rows)
		if e.Kind == input.LostRows {
			t.Errorf("%d rows were lost to the disk", e.Rows)
		}
	}
	data, err := readAll(log)
	if err != nil {
		t.Fatal(err)
	}
	polls := len(data) / 2 / axes
	at := func(poll, column int) int16 { return int16(binary.LittleEndian.Uint16(data[2*(poll*axes+column):])) }
	same := func(poll, row int) bool {
		for i, c := range columns {
			if at(poll, c) != r.Columns[i].At(row) {
				return false
			}
		}
		return true
	}
	rows := r.Rows()
	start, matched := 0, 0
	for ; start+rows <= polls && matched < rows; start++ {
		for matched = 0; matched < rows && same(start+matched, matched); matched++ {
		}
	}
	if matched < rows || rows == 0 {
		t.Fatalf("the %d rows of the file do not stand in the %d that were sampled", rows, polls)
	}
	seconds := float64(r.Times.At(rows-1)-r.Times.At(0)) / 1e6
	t.Logf("%d rows in %.0f s, all as sampled; %.2f %% of the ticks left out, the machine being busy", rows, seconds, 100*(1-float64(rows-1)/(seconds*soakHz)))
}

func readAll(f *os.File) ([]byte, error) {
	if _, err := f.Seek(0, io.SeekStart); err != nil {
		return nil, err
	}
	return io.ReadAll(f)
}
