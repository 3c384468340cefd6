package input_test

import (
	"bytes"
	"io"
	"math/rand/v2"
	"testing"

	"halfstick/input"
)

// longRecording is 200 s of eight axes at 500 Hz: 100,000 rows.
func longRecording(b *testing.B) (*input.Recording, []byte) {
	h := exampleHeader()
	h.Devices[0].Axes = nil
	for i := range 8 {
		h.Devices[0].Axes = append(h.Devices[0].Axes, input.Axis{Label: string(rune('a' + i)), Index: i, Kind: input.TwoSided})
	}
	c, err := input.NewCollector(h)
	if err != nil {
		b.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	row := input.Row{Counts: make([]int16, 8), Phase: input.Phase{Kind: input.Sweep, Label: "a"}}
	for i := range int64(100_000) {
		row.AtUS = 2000 * i
		for k := range row.Counts {
			row.Counts[k] = int16(rng.Int32N(65536) - 32768)
		}
		if err := c.Write(row); err != nil {
			b.Fatal(err)
		}
	}
	var file bytes.Buffer
	if err := c.Recording().Write(&file); err != nil {
		b.Fatal(err)
	}
	return c.Recording(), file.Bytes()
}

func BenchmarkRead(b *testing.B) {
	_, text := longRecording(b)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := input.Read(bytes.NewReader(text), "bench.csv"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWrite(b *testing.B) {
	rec, text := longRecording(b)
	b.SetBytes(int64(len(text)))
	b.ReportAllocs()
	for b.Loop() {
		if err := rec.Write(io.Discard); err != nil {
			b.Fatal(err)
		}
	}
}
