//go:build cgo

package sdl

import (
	"context"
	"fmt"
	"io"
	"testing"
	"time"

	"halfstick/input"
)

// BenchmarkSampling records 16 axes of two virtual devices at 1000 Hz by the
// machine's clock, as a recording of controllers does, and tells how even it
// was. The goal on a quiet machine of two cores: intervals within 0.2 ms for
// 99 %, below 5 % of one core. On a busy machine `chrt -f 10` before the compiled
// test shows what it comes to where nobody else wants the processor.
func BenchmarkSampling(b *testing.B) {
	const rateHz = 1000
	devices := make([]input.Device, 2)
	for i := range devices {
		devices[i] = input.Device{ID: fmt.Sprintf("d%d", i), Name: fmt.Sprintf("Example %d", i)}
		for a := range 8 {
			devices[i].Axes = append(devices[i].Axes, input.Axis{Label: fmt.Sprintf("axis-%d-%d", i, a), Index: a, Kind: input.TwoSided})
		}
	}
	v, err := Virtual(devices)
	if err != nil {
		b.Fatal(err)
	}
	defer v.Close()
	w, err := input.NewWriter(io.Discard, input.NewHeader(v, time.Now(), rateHz))
	if err != nil {
		b.Fatal(err)
	}
	rows := input.NewBackground(w, rateHz, nil)
	s, err := input.Record(context.Background(), v, rows, input.RecordOptions{
		RateHz: rateHz, For: time.Duration(b.N) * time.Second / rateHz,
	})
	if err != nil {
		b.Fatal(err)
	}
	if err := rows.Close(); err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(s.ErrorMS.P99, "ms-error-p99")
	b.ReportMetric(s.ErrorMS.P999, "ms-error-p99.9")
	b.ReportMetric(s.ErrorMS.Max, "ms-error-max")
	b.ReportMetric(float64(s.LateTicks), "late")
	if s.CPUPercent != nil {
		b.ReportMetric(*s.CPUPercent, "%-of-a-core")
	}
}
