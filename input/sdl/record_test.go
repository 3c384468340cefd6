//go:build cgo

package sdl

import (
	"bytes"
	"context"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/rig"
)

// The way from the simulated rig to a recording that can be read: rig → SDL →
// recorder → file → columns, with the phases of the script.
func TestRecordingOfTheSimulatedRig(t *testing.T) {
	const forTime = 40 * time.Second
	r, twin := rig.Default(3), rig.Default(3)
	clock := &input.JumpClock{}
	s, err := NewSimulated(r, clock)
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	var file bytes.Buffer
	w, err := input.NewWriter(&file, input.NewHeader(s, time.Unix(0, 0), 500))
	if err != nil {
		t.Fatal(err)
	}
	stats, err := input.Record(context.Background(), s, w, input.RecordOptions{
		RateHz: 500, For: forTime, PhaseAt: r.PhaseAt, Clock: clock,
	})
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	rec, err := input.Read(&file, "simulated.csv")
	if err != nil {
		t.Fatal(err)
	}
	if stats.Rows < 19000 || rec.Rows() != stats.Rows || len(rec.Columns) != 7 {
		t.Fatalf("%d rows recorded, %d read, %d columns", stats.Rows, rec.Rows(), len(rec.Columns))
	}
	direct := make([]int16, 7)
	for row, at := range rec.Times.All() {
		twin.Advance(time.Duration(at) * time.Microsecond)
		twin.Counts(direct)
		for c := range rec.Columns {
			if col := &rec.Columns[c]; col.At(row) != direct[c] || !col.Always() {
				t.Fatalf("row %d, column %d: %d counts, the rig has %d", row, c, col.At(row), direct[c])
			}
		}
	}
	swept := map[input.Phase]bool{}
	for _, st := range rec.Stretches {
		swept[st.Phase] = true
	}
	for _, label := range []string{"pitch", "roll"} {
		if !swept[input.Phase{Kind: input.Sweep, Label: label}] {
			t.Errorf("no sweep of %s in the recording: %v", label, swept)
		}
	}
	if d := rec.Header.Devices; d[0].ID != "stick" || d[1].ID != "pedals" || d[1].Axes[1].Kind != input.OneSided || *d[1].Axes[0].RawMax != 1023 {
		t.Errorf("devices in the header: %+v", d)
	}
}
