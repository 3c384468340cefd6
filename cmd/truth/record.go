package main

import (
	"fmt"
	"math"
	"time"

	"gonum.org/v1/gonum/stat"

	"halfstick/input"
	"halfstick/input/rig"
)

// recorded is a device's recording and what was seen of the rig meanwhile.
type recorded struct {
	rec  *input.Recording
	rig  *rig.Rig
	axes []seen
	lost int     // rows in which the device was gone
	gone float64 // seconds: its longest absence
}

// seen is what the hand and the rig did with one axis, by the rig's own state.
type seen struct {
	stops    [2]visits // times at the low and the high stop
	releases [2]visits // times at rest after a release from either side
	sweeps   []rig.Interval
	moving   []rig.Interval // parts of the sweeps between the stops
	restX    float64        // position of the grip at the end of the rest
	restFor  float64        // seconds of rest
	restFrom float64        // when the first rest began, seconds
	stillFor float64        // seconds that it stood still after its releases
	wornFor  float64        // seconds that its sweeps moved within the worn band
	ways     int            // of its sweeps from stop to stop, unbroken
	cameFrom stop           // the last stop of the way that it is on
	lastX    float64
}

// stop is where a way begins; noStop where an absence of the device broke it.
type stop int

const (
	noStop stop = iota
	lowStop
	highStop
)

// brokenBy is so long an absence, in seconds, that a movement is not read across it.
const brokenBy = 0.25

// visits sums up the times of stays: of their middles, or of their last seconds.
type visits struct {
	times    []float64 // seconds
	from, to float64
	open     bool
	last     bool // the last second counts
}

// at notes a moment of a stay, or that there is none.
func (v *visits) at(t float64, there bool) {
	switch {
	case there && !v.open:
		v.from, v.to, v.open = t, t, true
	case there:
		v.to = t
	case v.open:
		middle := (v.from + v.to) / 2
		if v.last {
			middle = math.Max(middle, v.to-0.5)
		}
		v.times = append(v.times, middle)
		v.open = false
	}
}

// minutes is the mean time of the stays.
func (v visits) minutes() float64 {
	if len(v.times) == 0 {
		return 0
	}
	return stat.Mean(v.times, nil) / 60
}

// record steps a device through its script and records it, as a recorder with
// a perfect clock would.
func record(d device) (*recorded, error) {
	r, err := rig.New([]rig.DeviceSpec{d.spec}, d.seed)
	if err != nil {
		return nil, err
	}
	if err := r.SetScript(r.PlannedScript(d.plan)); err != nil {
		return nil, err
	}
	c, err := input.NewCollector(input.Header{RateHz: d.rateHz, Source: r.Describe(), Devices: r.Devices()})
	if err != nil {
		return nil, err
	}
	n := len(d.spec.Axes)
	out := &recorded{rig: r, axes: make([]seen, n)}
	for i := range out.axes {
		out.axes[i].releases[0].last, out.axes[i].releases[1].last = true, true
	}
	x := make([]float64, n)
	row := input.Row{Counts: make([]int16, n), Present: make([]bool, n)}
	left := math.Inf(1) // when the device was last there
	for k := 0; ; k++ {
		at := time.Duration(float64(k) / d.rateHz * float64(time.Second))
		if at >= r.Duration() {
			break
		}
		r.Advance(at)
		r.Counts(row.Counts)
		r.Present(row.Present)
		r.Positions(x)
		row.AtUS, row.Phase = at.Microseconds(), r.PhaseAt(at)
		t := at.Seconds()
		away := 0.0
		if row.Present[0] {
			away = t - left
			out.gone = math.Max(out.gone, away)
			left = t
		} else if k > 0 {
			out.lost++
		}
		for i := range out.axes {
			out.axes[i].look(t, 1/d.rateHz, x[i], d.spec.Axes[i], row.Phase)
			out.axes[i].walk(x[i], away > brokenBy, d.spec.Axes[i], row.Phase)
		}
		if err := c.Write(row); err != nil {
			return nil, fmt.Errorf("device %d: %w", d.seed, err)
		}
	}
	out.rec = c.Recording()
	return out, nil
}

// look notes what one axis does at one row.
func (s *seen) look(t, period, x float64, a rig.AxisSpec, phase input.Phase) {
	low, throw := throwOf(a)
	mine := phase.Label == "" || phase.Label == a.Label
	pushed := mine && (phase.Kind == input.Sweep || phase.Kind == input.ReleaseLow || phase.Kind == input.ReleaseHigh)
	s.stops[0].at(t, pushed && x == low)
	s.stops[1].at(t, pushed && x == low+throw)
	atRest := math.Abs(x-low) > 0.2*throw && math.Abs(x-low-throw) > 0.2*throw
	s.releases[0].at(t, mine && phase.Kind == input.ReleaseLow && atRest)
	s.releases[1].at(t, mine && phase.Kind == input.ReleaseHigh && atRest)
	if phase.Kind == input.Rest {
		if s.restFor == 0 {
			s.restFrom = t
		}
		s.restX, s.restFor = x, s.restFor+period
	}
	released := phase.Kind == input.ReleaseLow || phase.Kind == input.ReleaseHigh
	if mine && released && atRest && x == s.lastX {
		s.stillFor += period
	}
	if mine && phase.Kind == input.Sweep {
		s.sweeps = grown(s.sweeps, t, period)
		if x > low && x < low+throw {
			s.moving = grown(s.moving, t, period)
			if x >= a.Worn.From && x <= a.Worn.To && x != s.lastX {
				s.wornFor += period
			}
		}
	}
	s.lastX = x
}

// walk counts the ways from stop to stop of an axis's sweeps.
func (s *seen) walk(x float64, broken bool, a rig.AxisSpec, phase input.Phase) {
	low, throw := throwOf(a)
	swept := phase.Kind == input.Sweep && (phase.Label == "" || phase.Label == a.Label)
	at := noStop
	switch {
	case !swept || broken:
		s.cameFrom = noStop
		return
	case x == low:
		at = lowStop
	case x == low+throw:
		at = highStop
	default:
		return
	}
	if s.cameFrom != noStop && s.cameFrom != at {
		s.ways++
	}
	s.cameFrom = at
}

// grown adds a moment to a list of stretches.
func grown(list []rig.Interval, t, period float64) []rig.Interval {
	if n := len(list); n > 0 && t-list[n-1].To < 1.5*period {
		list[n-1].To = t
		return list
	}
	return append(list, rig.Interval{From: t, To: t})
}

// stalled is the longest stall that fell into one way of the axis's sweeps, in
// seconds: only there can it be told from an axis that stands.
func (s seen) stalled(stalls []rig.Interval) float64 {
	longest := 0.0
	for _, m := range s.moving {
		for _, o := range stalls {
			if o.From > m.From && o.To < m.To {
				longest = math.Max(longest, o.To-o.From)
			}
		}
	}
	return longest
}
