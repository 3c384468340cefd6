package measure

import (
	"encoding/json"
	"testing"

	"halfstick/input"
)

// fuzzRow is what four bytes of the fuzzer's say: how the time goes on, the
// phase, and the counts of a two-sided and a one-sided axis.
func fuzzRow(row *input.Row, b []byte) {
	row.AtUS += []int64{1, 1000, 2000, 4000, 10_000, 300_000, 86_400_000_000, 31_557_600_000_000}[b[0]&7]
	kinds := []input.PhaseKind{input.NoPhase, input.Rest, input.Sweep, input.ReleaseLow, input.ReleaseHigh, input.Hold, input.Flight, input.Rest}
	row.Phase = input.Phase{Kind: kinds[b[1]>>5]}
	if label := []string{"", "", "x", "z"}[b[1]>>3&3]; row.Phase.Kind != input.NoPhase {
		row.Phase.Label = label
	}
	row.Present[0], row.Present[1] = b[1]&7 != 1, b[1]&3 != 2
	row.Counts[0], row.Counts[1] = int16(int8(b[2]))<<8, int16(int8(b[3]))<<8
	if b[0]&8 != 0 { // small changes
		row.Counts[0], row.Counts[1] = int16(int8(b[2])), int16(b[3])*4
	}
}

// FuzzRecording: whatever was recorded, measuring does not panic, and what is
// measured has a JSON form, in which there is no number for what is none. Each
// four bytes are played a few times over, so that short inputs make recordings
// that are long enough to be measured.
func FuzzRecording(f *testing.F) {
	still := []byte{4, 1 << 5, 1, 1}
	f.Add(still, uint16(999), true)
	f.Add([]byte{4, 2 << 5, 0x80, 0, 4, 2 << 5, 0, 0x40, 4, 2 << 5, 0x7f, 0x7f}, uint16(40), false)
	f.Add([]byte{12, 0, 1, 1, 12, 0, 2, 5, 5, 0, 0, 0}, uint16(60), true)
	f.Add([]byte{3, 3 << 5, 0x80, 0, 3, 0, 1, 1, 3, 4 << 5, 0x7f, 0, 7, 0, 2, 1}, uint16(90), true)
	f.Add([]byte{0, 6<<5 | 1, 0x80, 0, 6, 2, 1, 1}, uint16(20), false)
	f.Add([]byte{0, 6<<5 | 1, 0x30, 0x30, 7, 2, 0x30, 0x30}, uint16(9), true)
	f.Add([]byte("$010$000000000010000"), uint16(178), false)
	f.Fuzz(func(t *testing.T, data []byte, times uint16, codes bool) {
		if len(data) > 256 {
			return
		}
		axes := []input.Axis{{Label: "x", Kind: input.TwoSided}, {Label: "z", Index: 1, Kind: input.OneSided}}
		if codes {
			low, high := 0, 1023
			axes[0].RawMin, axes[0].RawMax = &low, &high
		}
		c, err := input.NewCollector(input.Header{RateHz: 500, Devices: []input.Device{{ID: "d", Axes: axes}}})
		if err != nil {
			t.Fatal(err)
		}
		row := input.Row{Counts: make([]int16, 2), Present: make([]bool, 2)}
		rows := len(data) / 4
		for i := range min(rows*(int(times%200)+1), 1200) {
			fuzzRow(&row, data[i%rows*4:])
			if c.Write(row) != nil {
				return // beyond what a time may be
			}
		}
		m, err := Recording(c.Recording(), "fuzz.csv")
		if err != nil {
			if c.Recording().Rows() > 0 {
				t.Fatal(err)
			}
			return
		}
		if _, err := json.Marshal(m); err != nil {
			t.Fatal(err)
		}
	})
}
