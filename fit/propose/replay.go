package propose

import (
	"errors"
	"fmt"
	"iter"
	"math"
	"strings"

	"halfstick/curves"
	"halfstick/fit/measure"
	"halfstick/fit/stats"
	"halfstick/input"
)

// Replayed is what a recording would have commanded.
type Replayed struct {
	Axes []ReplayedAxis `json:"axes"`
}

// ReplayedAxis is one axis of a replay: before is straight with the same
// calibration and no deadband, after is the profile's response.
type ReplayedAxis struct {
	Device string      `json:"device"`
	Label  string      `json:"label"`
	Kind   curves.Kind `json:"kind"`
	// Seconds since the recording's first row, and the commands −1…1 (0…1), of
	// every row in which the axis was there.
	Seconds []float64         `json:"-"`
	Phases  []input.PhaseKind `json:"-"`
	Before  []float64         `json:"-"`
	After   []float64         `json:"-"`
	// Smoothed is After with the position smoothed first; nil without smoothing.
	Smoothed  []float64      `json:"-"`
	Smoothing *SmoothingCost `json:"smoothing,omitempty"`
	// Rest is the RMS jitter in the rest phases about their means, nil if none.
	Rest  *JitterRMS   `json:"rest"`
	Bands []BandJitter `json:"bands"` // by deflection, in the moving phases
	// Moving names the phases that the bands and the worst ten seconds are
	// about: flight, or, without flight, everything but rest and releases.
	Moving       string  `json:"moving"`
	RestMinutes  float64 `json:"rest_minutes"`
	FalseMotions int     `json:"false_motions"` // in rest phases: the command leaves 0
	// FalseMotionsPerMinute has an exact Poisson interval; nil without rest.
	FalseMotionsPerMinute *measure.Quantity `json:"false_motions_per_minute"`
	Worst                 *WorstStretch     `json:"worst_ten_seconds"`
	// LargestDifference is where the hand will get a command most unlike the
	// one it got before, over all positions.
	LargestDifference Difference `json:"largest_difference"`
}

// JitterRMS is an RMS command jitter, percent of full command. Smoothed is that
// after smoothing too, nil without; in motion it takes the noise of different
// reports as independent.
type JitterRMS struct {
	Before   float64  `json:"before_percent"`
	After    float64  `json:"after_percent"`
	Smoothed *float64 `json:"smoothed_percent,omitempty"`
	Rows     int      `json:"rows"`
}

// BandJitter is the jitter in a band of deflections |u|.
type BandJitter struct {
	From float64 `json:"from"`
	To   float64 `json:"to"`
	JitterRMS
}

// WorstStretch is the ten seconds with the largest jitter before.
type WorstStretch struct {
	From float64 `json:"from_s"`
	To   float64 `json:"to_s"`
	JitterRMS
	// NoiseBefore and NoiseAfter are what the noise alone did to the command,
	// row by row of the stretch.
	NoiseBefore   []float64 `json:"-"`
	NoiseAfter    []float64 `json:"-"`
	NoiseSmoothed []float64 `json:"-"` // nil without smoothing
}

// Difference compares the commands at one hand position.
type Difference struct {
	At     float64 `json:"position"` // u
	Before float64 `json:"before"`
	After  float64 `json:"after"`
	Says   string  `json:"says"`
}

// Replay works out what the recorded axes would have commanded through the
// profile, against straight with the same calibration. Axes that the profile
// does not have are left out; none left is an error. With smoothing, the third
// command of everything is that of the smoothed position.
//
// Jitter while the axis moves is what is faster than a hand: the residual e of
// the position u to a parabola slid along it (0.1 s; stats.LocalResiduals),
// before as it is, after as Command(u) − Command(u − e).
func Replay(rec *input.Recording, p *curves.Profile, smoothing Smoothing) (*Replayed, error) {
	if err := smoothing.check(); err != nil {
		return nil, err
	}
	if err := p.Check(); err != nil {
		return nil, fmt.Errorf("the profile cannot be replayed: %w", err)
	}
	out := &Replayed{}
	for col := range rec.Columns {
		device, axis := rec.AxisOf(col)
		pa, err := p.Axis(axis.Label)
		if err != nil || !sameDevice(pa.Device, device) {
			continue
		}
		if string(axis.Kind) != string(pa.Response.Kind) {
			return nil, fmt.Errorf("axis %s is %s in the recording and %s in the profile; correct the kind in one of them", axis.Label, axis.Kind, pa.Response.Kind)
		}
		out.Axes = append(out.Axes, replayAxis(rec, col, &pa.Response, smoothing))
	}
	if len(out.Axes) == 0 {
		return nil, errors.New("the recording has none of the profile's axes; give the profile that was made for these controllers")
	}
	return out, nil
}

// sameDevice compares by GUID where both have one: names may be changed.
func sameDevice(ref curves.DeviceRef, d input.Device) bool {
	return ref.GUID == "" || d.GUID == "" || ref.GUID == d.GUID
}

func replayAxis(rec *input.Recording, col int, r *curves.Response, smoothing Smoothing) ReplayedAxis {
	device, axis := rec.AxisOf(col)
	a := ReplayedAxis{Device: device.ID, Label: axis.Label, Kind: r.Kind, LargestDifference: largestDifference(r)}
	straight := straightOf(*r)
	moving := &residuals{}
	var rest squares
	var lags lagSeries
	kinds := movingKinds(rec, axis.Label)
	a.Moving = kinds.name
	all := a.command(rec, col, &straight, r, smoothing.Filter)
	for s, part := range all.stretches(rec, col) {
		switch about := s.Phase.Label == "" || s.Phase.Label == axis.Label; {
		case !about || len(part.at) < 2:
		case s.Phase.Kind == input.Rest:
			rest.addAboutMean(part.before, part.after, part.smoothed)
			a.RestMinutes += (part.at[len(part.at)-1] - part.at[0]) / 60
			a.FalseMotions += departures(part.after)
			lags.addRest(part)
		case kinds.has(s.Phase.Kind):
			lags.addMoving(part, moving.add(part, &straight, r))
		}
	}
	a.Rest = rest.rms()
	if a.RestMinutes > 0 {
		low, high := stats.PoissonInterval(a.FalseMotions, a.RestMinutes, 0.95)
		a.FalseMotionsPerMinute = &measure.Quantity{
			Value: float64(a.FalseMotions) / a.RestMinutes, Low: &low, High: &high,
			Unit: "1/min", N: a.FalseMotions, Method: "times that the command leaves 0 at rest; Poisson interval",
		}
	}
	a.Bands, a.Worst = moving.bands(), moving.worst()
	if smoothing.Filter != nil {
		a.Smoothing = lags.cost(smoothing, r.Kind)
	}
	return a
}

// phaseSet is a set of phases and its name.
type phaseSet struct {
	name string
	has  func(input.PhaseKind) bool
}

func movingKinds(rec *input.Recording, label string) phaseSet {
	if len(rec.PhaseRanges(input.Flight, label)) > 0 {
		return phaseSet{"flight", func(k input.PhaseKind) bool { return k == input.Flight }}
	}
	return phaseSet{"all but rest and releases (no flight was recorded)", func(k input.PhaseKind) bool {
		return k != input.Rest && k != input.ReleaseLow && k != input.ReleaseHigh
	}}
}

// replayedPart is a run of an axis's rows: times, positions and commands. The
// smoothed position and command and the filter's weights are nil without one.
type replayedPart struct{ at, u, before, after, smoothU, smoothed, alpha []float64 }

// command replays every row in which the axis is there.
func (a *ReplayedAxis) command(rec *input.Recording, col int, straight, r *curves.Response, filter stats.Smoother) replayedPart {
	var p replayedPart
	c := rec.Columns[col]
	before, after := straight.Compile(), r.Compile()
	for _, s := range rec.Stretches {
		for i := s.From; i < s.To; i++ {
			if !c.PresentAt(i) {
				continue
			}
			counts := c.At(i)
			u := r.Position(float64(counts))
			p.at = append(p.at, float64(rec.Times.At(i)-rec.Times.At(0))/1e6)
			p.u = append(p.u, u)
			p.before = append(p.before, before.Command(counts))
			p.after = append(p.after, after.Command(counts))
			a.Phases = append(a.Phases, s.Phase.Kind)
		}
	}
	if filter != nil {
		p.alpha = filter.Weights(p.at, p.u)
		p.smoothU = stats.Smooth(p.u, p.alpha)
		for _, u := range p.smoothU {
			p.smoothed = append(p.smoothed, r.Command(u))
		}
	}
	a.Seconds, a.Before, a.After, a.Smoothed = p.at, p.before, p.after, p.smoothed
	return p
}

// stretches cuts what command returned into the recording's stretches.
func (p replayedPart) stretches(rec *input.Recording, col int) iter.Seq2[input.Stretch, replayedPart] {
	return func(yield func(input.Stretch, replayedPart) bool) {
		from := 0
		for _, s := range rec.Stretches {
			to := from
			for i := s.From; i < s.To; i++ {
				if rec.Columns[col].PresentAt(i) {
					to++
				}
			}
			if !yield(s, p.cut(from, to)) {
				return
			}
			from = to
		}
	}
}

// cut is the run of rows from one up to another.
func (p replayedPart) cut(from, to int) replayedPart {
	part := func(x []float64) []float64 {
		if x == nil {
			return nil
		}
		return x[from:to:to]
	}
	return replayedPart{part(p.at), part(p.u), part(p.before), part(p.after), part(p.smoothU), part(p.smoothed), part(p.alpha)}
}

// departures counts how often a command leaves 0.
func departures(y []float64) int {
	n := 0
	for i := 1; i < len(y); i++ {
		if y[i] != 0 && y[i-1] == 0 {
			n++
		}
	}
	return n
}

// largestDifference looks at every tenth of a percent of the throw.
func largestDifference(r *curves.Response) Difference {
	straight := straightOf(*r)
	from := -1000
	if r.Kind == curves.OneSided {
		from = 0
	}
	var d Difference
	for i := 1000; i >= from; i-- {
		u := float64(i) / 1000
		before, after := straight.Command(u), r.Command(u)
		if math.Abs(after-before) > math.Abs(d.After-d.Before)+1e-9 {
			d = Difference{At: u, Before: before, After: after}
		}
	}
	d.Says = "every hand position commands what it did before"
	if d.After != d.Before {
		d.Says = fmt.Sprintf("at %s throw you will get %s instead of %s", wholePercent(d.At), wholePercent(d.After), wholePercent(d.Before))
	}
	return d
}

// wholePercent writes a share with a true minus sign.
func wholePercent(share float64) string {
	return strings.Replace(fmt.Sprintf("%.0f %%", 100*share), "-", "−", 1)
}
