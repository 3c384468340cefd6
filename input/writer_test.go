package input_test

import (
	"bytes"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"halfstick/input"
)

func TestWriterWritesTheFormat(t *testing.T) {
	if got := mustWrite(t, example()); got != head+rows {
		t.Errorf("wrote\n%s\nwant\n%s", got, head+rows)
	}
}

// newest counts the rows that a reader finds in what has been written so far.
func newest(t *testing.T, file *bytes.Buffer) int {
	t.Helper()
	return mustRead(t, file.String()).Rows()
}

// lineFile counts the lines on its way to memory.
type lineFile struct {
	bytes.Buffer
	lines int
}

func (f *lineFile) Write(p []byte) (int, error) {
	f.lines += bytes.Count(p, []byte("\n"))
	return f.Buffer.Write(p)
}

// A writer that is never closed leaves a readable file that lacks at most the
// last second.
func TestKilledWriterLosesAtMostASecond(t *testing.T) {
	headLines := strings.Count(head, "\n")
	for _, rate := range []int64{5, 125, 1000, 20_000} {
		var file lineFile
		w, err := input.NewWriter(&file, exampleHeader())
		if err != nil {
			t.Fatal(err)
		}
		if newest(t, &file.Buffer) != 0 || file.lines != headLines {
			t.Fatalf("%d lines before the first row, want the head's %d", file.lines, headLines)
		}
		for i := int64(0); i < 4*rate; i++ {
			if err := w.Write(input.Row{AtUS: i * 1_000_000 / rate, Counts: []int16{int16(i), 0}}); err != nil {
				t.Fatal(err)
			}
			if lost := i + 1 - int64(file.lines-headLines); lost > rate {
				t.Fatalf("at %d Hz after %d rows %d would be lost", rate, i+1, lost)
			}
		}
		if got := newest(t, &file.Buffer); got != file.lines-headLines || got < int(3*rate) {
			t.Errorf("at %d Hz %d rows can be read, %d lines were written", rate, got, file.lines)
		}
	}
}

// Time on the wall counts too: a clock that jumps or a slow source must not
// keep rows in memory.
func TestWriterFlushesByTheWallClock(t *testing.T) {
	var file bytes.Buffer
	w, err := input.NewWriter(&file, exampleHeader())
	if err != nil {
		t.Fatal(err)
	}
	begun := time.Now()
	for at := int64(0); time.Since(begun) < 900*time.Millisecond; at++ {
		if err := w.Write(input.Row{AtUS: at, Counts: make([]int16, 2)}); err != nil {
			t.Fatal(err)
		}
		time.Sleep(10 * time.Millisecond)
	}
	if newest(t, &file) == 0 {
		t.Error("nothing was flushed in 0.9 s")
	}
}

// The same with a real process and a real kill.
func TestKilledProcessLeavesAReadableFile(t *testing.T) {
	const variable = "HALFSTICK_TEST_RECORD_TO"
	if path := os.Getenv(variable); path != "" {
		recordUntilKilled(path)
		return
	}
	path := filepath.Join(t.TempDir(), "killed.csv")
	cmd := exec.Command(os.Args[0], "-test.run=^TestKilledProcessLeavesAReadableFile$")
	cmd.Env = append(os.Environ(), variable+"="+path)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	enough := func() bool {
		info, err := os.Stat(path)
		return err == nil && info.Size() > 1<<20
	}
	for deadline := time.Now().Add(20 * time.Second); !enough() && time.Now().Before(deadline); {
		time.Sleep(time.Millisecond)
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	cmd.Wait() // the error is that it was killed
	rec, err := input.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	if rec.Rows() < 10_000 {
		t.Errorf("%d rows in a file of a mebibyte", rec.Rows())
	}
}

func recordUntilKilled(path string) {
	f, err := os.Create(path)
	if err != nil {
		panic(err)
	}
	w, err := input.NewWriter(f, exampleHeader())
	for at := int64(0); err == nil && at < 1<<40; at += 1000 {
		err = w.Write(input.Row{AtUS: at, Phase: input.Phase{Kind: input.Rest}, Counts: make([]int16, 2)})
	}
	panic(err)
}

func TestWriterAndCollectorRefuseRows(t *testing.T) {
	two := []int16{1, 2}
	for name, row := range map[string]input.Row{
		"time below 0":     {AtUS: -1, Counts: two},
		"time going back":  {AtUS: 99, Counts: two},
		"time stands":      {AtUS: 100, Counts: two},
		"a count missing":  {AtUS: 101, Counts: two[:1]},
		"no counts":        {AtUS: 101},
		"presence missing": {AtUS: 101, Counts: two, Present: []bool{true}},
		"unknown phase":    {AtUS: 101, Counts: two, Phase: input.Phase{Kind: "pause"}},
		"unknown label":    {AtUS: 101, Counts: two, Phase: input.Phase{Kind: input.Rest, Label: "roll"}},
		"label alone":      {AtUS: 101, Counts: two, Phase: input.Phase{Label: "rudder"}},
		"extra cell":       {AtUS: 101, Counts: two, Extra: []string{"a"}},
		"not UTF-8":        {AtUS: 101, Counts: two, Extra: []string{"\xff"}},
	} {
		var file bytes.Buffer
		w, err := input.NewWriter(&file, exampleHeader())
		if err != nil {
			t.Fatal(err)
		}
		c, err := input.NewCollector(exampleHeader())
		if err != nil {
			t.Fatal(err)
		}
		for _, to := range []input.RowWriter{w, c} {
			good := func(at int64) {
				if err := to.Write(input.Row{AtUS: at, Counts: two}); err != nil {
					t.Fatal(err)
				}
			}
			good(100)
			if err := to.Write(row); err == nil || !strings.Contains(err.Error(), ";") {
				t.Errorf("%s: %T gave error %v, want cause and remedy", name, to, err)
			}
			good(200) // a refused row leaves no trace
		}
		if err := w.Close(); err != nil {
			t.Fatal(err)
		}
		for _, rec := range []*input.Recording{mustRead(t, file.String()), c.Recording()} {
			if !reflect.DeepEqual(timesOf(rec), []int64{100, 200}) {
				t.Errorf("%s: rows at %v, want 100 and 200", name, timesOf(rec))
			}
		}
	}
}

// fullDisk fails once it holds room bytes.
type fullDisk struct{ room int }

var errFull = errors.New("the disk is full")

func (d *fullDisk) Write(p []byte) (int, error) {
	if len(p) > d.room {
		return 0, errFull
	}
	d.room -= len(p)
	return len(p), nil
}

func TestWriterKeepsTheErrorOfItsDisk(t *testing.T) {
	if _, err := input.NewWriter(&fullDisk{}, exampleHeader()); !errors.Is(err, errFull) {
		t.Errorf("the head was written to a full disk: %v", err)
	}
	w, err := input.NewWriter(&fullDisk{room: 2000}, exampleHeader())
	if err != nil {
		t.Fatal(err)
	}
	for at := int64(0); err == nil && at < 1e9; at += 1000 {
		err = w.Write(input.Row{AtUS: at, Counts: make([]int16, 2)})
	}
	for _, err := range []error{err, w.Write(input.Row{AtUS: 1e12, Counts: make([]int16, 2)}), w.Flush(), w.Close()} {
		if !errors.Is(err, errFull) {
			t.Errorf("error %v, want that of the disk", err)
		}
	}
	if err := example().Write(&fullDisk{room: len(head) + 1}); !errors.Is(err, errFull) {
		t.Errorf("Recording.Write: %v, want that of the disk", err)
	}
}

func TestCloseEndsTheRecording(t *testing.T) {
	w, err := input.NewWriter(&bytes.Buffer{}, exampleHeader())
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if err := w.Close(); err != nil {
			t.Errorf("Close: %v", err)
		}
	}
	if err := w.Write(input.Row{Counts: make([]int16, 2)}); err == nil {
		t.Error("a row was written behind the end")
	}
}

func appendAll(times *input.Times, us ...int64) {
	for _, at := range us {
		times.Append(at)
	}
}

func TestRecordingThatDoesNotHangTogetherIsNotWritten(t *testing.T) {
	for name, spoil := range map[string]func(*input.Recording){
		"column short":          func(r *input.Recording) { r.Columns[0] = input.Column{} },
		"column long":           func(r *input.Recording) { r.Columns[1].Append(0, true) },
		"column missing":        func(r *input.Recording) { r.Columns = r.Columns[1:] },
		"stretch missing":       func(r *input.Recording) { r.Stretches = r.Stretches[1:] },
		"last stretch missing":  func(r *input.Recording) { r.Stretches = r.Stretches[:1] },
		"stretch backwards":     func(r *input.Recording) { r.Stretches[1].To = 1 },
		"stretch beyond":        func(r *input.Recording) { r.Stretches[2].To = 5 },
		"extra column short":    func(r *input.Recording) { r.Extra = []input.ExtraColumn{{Name: "a"}} },
		"time going back":       func(r *input.Recording) { r.Times = input.Times{}; appendAll(&r.Times, 0, 2000, 1, 6000) },
		"a phase nobody knows":  func(r *input.Recording) { r.Stretches[0].Phase.Kind = "pause" },
		"a header without rate": func(r *input.Recording) { r.Header.RateHz = 0 },
	} {
		rec := example()
		spoil(rec)
		if err := rec.Write(&bytes.Buffer{}); err == nil {
			t.Errorf("%s: written", name)
		}
	}
}
