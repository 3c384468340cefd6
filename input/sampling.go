package input

import (
	"encoding/json"
	"math"
	"time"
)

// Sampling says how evenly a recording was made. It stands in a comment line
// behind the last row, as the field "sampling" of an object; a recording that
// was cut off has none.
type Sampling struct {
	Rows      int     `json:"rows"`
	AskedHz   float64 `json:"asked_hz"`
	ReachedHz float64 `json:"reached_hz"` // rows per second of waking time
	// The intervals between the instants of neighbouring rows.
	IntervalMS Spread `json:"interval_ms"`
	// How far the intervals are from 1/AskedHz, either way.
	ErrorMS   Spread `json:"interval_error_ms"`
	LateTicks int    `json:"late_ticks"` // left out, half a period having passed
	LostRows  int    `json:"lost_rows"`  // taken, but not kept: the disk was too slow
	// CPUPercent is the processor time of the whole program while it recorded,
	// in percent of one core; nil where the system does not tell.
	CPUPercent *float64 `json:"cpu_percent_of_one_core,omitempty"`
}

// Spread is three quantiles and the largest of some times, milliseconds.
type Spread struct {
	P50  float64 `json:"p50"`
	P99  float64 `json:"p99"`
	P999 float64 `json:"p99_9"`
	Max  float64 `json:"max"`
}

// samplingLine is the comment's object.
type samplingLine struct {
	Sampling *Sampling `json:"sampling"`
}

// Comment is the sampling as a comment line, without its '#'.
func (s Sampling) Comment() string { return objectComment(samplingLine{&s}) }

// Samplings lists how evenly the recording was made, one for each of those that
// were joined to it; none where it was cut off.
func (r *Recording) Samplings() []Sampling {
	var found []Sampling
	for _, c := range r.Comments {
		var line samplingLine
		if json.Unmarshal([]byte(c.Text), &line) == nil && line.Sampling != nil {
			found = append(found, *line.Sampling)
		}
	}
	return found
}

func spread(h *Histogram) Spread {
	ms := func(d time.Duration) float64 { return float64(d.Microseconds()) / 1000 }
	return Spread{P50: ms(h.Quantile(0.5)), P99: ms(h.Quantile(0.99)), P999: ms(h.Quantile(0.999)), Max: ms(h.Max())}
}

// sampling sums up what was recorded.
func (r *recorder) sampling() Sampling {
	s := Sampling{
		Rows: r.rows, AskedHz: r.opts.RateHz, LateTicks: r.late,
		IntervalMS: spread(&r.intervals), ErrorMS: spread(&r.errors),
	}
	if took := (r.last - r.first).Seconds(); took > 0 {
		s.ReachedHz = round(float64(r.rows-1)/took, 1e3)
	}
	if wall := (r.clock.Now() - r.start).Seconds(); r.opts.Clock == nil && wall > 0 {
		if now, known := processorTime(); known {
			percent := round(100*(now-r.cpuStart).Seconds()/wall, 1e2)
			s.CPUPercent = &percent
		}
	}
	return s
}

// round keeps as many decimals as a file should have; per is 10 to their number.
func round(x, per float64) float64 { return math.Round(x*per) / per }
