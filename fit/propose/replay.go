package propose

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"
	"halfstick/curves"
	"halfstick/fit/stats"
	"halfstick/input"
)

const (
	smoothSeconds = 0.1 // window of the short smooth fit that stands for the hand
	worstSeconds  = 10.0
)

// bandEdges part the deflection |u| into the bands jitter is given for.
var bandEdges = []float64{0, 0.1, 0.25, 0.5, 0.75, 1}

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
	// Rest is the RMS jitter in the rest phases about their means, nil if none.
	Rest  *JitterRMS   `json:"rest"`
	Bands []BandJitter `json:"bands"` // by deflection, in the moving phases
	// Moving names the phases that the bands and the worst ten seconds are
	// about: flight, or, without flight, everything but rest and releases.
	Moving                string        `json:"moving"`
	RestMinutes           float64       `json:"rest_minutes"`
	FalseMotions          int           `json:"false_motions"` // in rest phases: the command leaves 0
	FalseMotionsPerMinute *float64      `json:"false_motions_per_minute"`
	Worst                 *WorstStretch `json:"worst_ten_seconds"`
	// LargestDifference is where the hand will get a command most unlike the
	// one it got before, over all positions.
	LargestDifference Difference `json:"largest_difference"`
}

// JitterRMS is an RMS command jitter, percent of full command.
type JitterRMS struct {
	Before float64 `json:"before_percent"`
	After  float64 `json:"after_percent"`
	Rows   int     `json:"rows"`
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
	NoiseBefore []float64 `json:"-"`
	NoiseAfter  []float64 `json:"-"`
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
// does not have are left out; none left is an error.
//
// Jitter while the axis moves is what is faster than a hand: the residual e of
// the position u to a parabola slid along it (0.1 s; stats.LocalResiduals),
// before as it is, after as Command(u) − Command(u − e).
func Replay(rec *input.Recording, p *curves.Profile) (*Replayed, error) {
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
		out.Axes = append(out.Axes, replayAxis(rec, col, &pa.Response))
	}
	if len(out.Axes) == 0 {
		return nil, fmt.Errorf("the recording has none of the profile's axes; give the profile that was made for these controllers")
	}
	return out, nil
}

// sameDevice compares by GUID where both have one: names may be changed.
func sameDevice(ref curves.DeviceRef, d input.Device) bool {
	return ref.GUID == "" || d.GUID == "" || ref.GUID == d.GUID
}

func replayAxis(rec *input.Recording, col int, r *curves.Response) ReplayedAxis {
	device, axis := rec.AxisOf(col)
	a := ReplayedAxis{Device: device.ID, Label: axis.Label, Kind: r.Kind, LargestDifference: largestDifference(r)}
	straight := straightOf(*r)
	moving := &residuals{}
	var rest squares
	kinds := movingKinds(rec, axis.Label)
	a.Moving = kinds.name
	for _, s := range rec.Stretches {
		part := a.replayStretch(rec, col, s, &straight, r)
		switch about := s.Phase.Label == "" || s.Phase.Label == axis.Label; {
		case !about || len(part.at) < 2:
		case s.Phase.Kind == input.Rest:
			rest.addAboutMean(part.before, part.after)
			a.RestMinutes += (part.at[len(part.at)-1] - part.at[0]) / 60
			a.FalseMotions += departures(part.after)
		case kinds.has(s.Phase.Kind):
			moving.add(part, &straight, r)
		}
	}
	a.Rest = rest.rms()
	if a.RestMinutes > 0 {
		rate := float64(a.FalseMotions) / a.RestMinutes
		a.FalseMotionsPerMinute = &rate
	}
	a.Bands, a.Worst = moving.bands(), moving.worst()
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

// replayedPart is one stretch of a replay.
type replayedPart struct{ at, u, before, after []float64 }

// replayStretch replays one stretch and appends it to the axis's series.
func (a *ReplayedAxis) replayStretch(rec *input.Recording, col int, s input.Stretch, straight, r *curves.Response) replayedPart {
	var p replayedPart
	c := rec.Columns[col]
	for i := s.From; i < s.To; i++ {
		if !c.PresentAt(i) {
			continue
		}
		u := r.Position(float64(c.Counts[i]))
		p.at = append(p.at, float64(rec.TimesUS[i]-rec.TimesUS[0])/1e6)
		p.u = append(p.u, u)
		p.before = append(p.before, straight.Command(u))
		p.after = append(p.after, r.Command(u))
		a.Phases = append(a.Phases, s.Phase.Kind)
	}
	a.Seconds = append(a.Seconds, p.at...)
	a.Before = append(a.Before, p.before...)
	a.After = append(a.After, p.after...)
	return p
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

// squares sums squared jitter before and after.
type squares struct {
	before, after float64
	n             int
}

func (s *squares) add(before, after float64) {
	s.before += before * before
	s.after += after * after
	s.n++
}

func (s *squares) addAboutMean(before, after []float64) {
	mb, ma := stat.Mean(before, nil), stat.Mean(after, nil)
	for i := range before {
		s.add(before[i]-mb, after[i]-ma)
	}
}

// rms returns percent of full command; nil for nothing.
func (s *squares) rms() *JitterRMS {
	if s.n == 0 {
		return nil
	}
	n := float64(s.n)
	return &JitterRMS{Before: 100 * math.Sqrt(math.Max(0, s.before)/n), After: 100 * math.Sqrt(math.Max(0, s.after)/n), Rows: s.n}
}

// residuals are what is faster than a hand, row by row of the moving phases.
type residuals struct {
	at, deflection, before, after []float64
	breaks                        []int // first rows of the stretches
}

// hands are the positions without what is faster than a hand; nil where the
// stretch is too short to tell.
func (p replayedPart) hands() []float64 {
	n := len(p.at)
	perSecond := float64(n-1) / (p.at[n-1] - p.at[0])
	window := max(7, int(smoothSeconds*perSecond)|1)
	if n < window {
		return nil
	}
	hands := stats.LocalResiduals(p.u, window)
	for i, e := range hands {
		hands[i] = p.u[i] - e
	}
	return hands
}

func (r *residuals) add(p replayedPart, straight, proposed *curves.Response) {
	hands := p.hands()
	if hands == nil {
		return
	}
	r.breaks = append(r.breaks, len(r.at))
	for i, hand := range hands {
		r.at = append(r.at, p.at[i])
		r.deflection = append(r.deflection, math.Abs(p.u[i]))
		r.before = append(r.before, straight.Command(p.u[i])-straight.Command(hand))
		r.after = append(r.after, proposed.Command(p.u[i])-proposed.Command(hand))
	}
}

// bands returns the jitter of the bands that have rows.
func (r *residuals) bands() []BandJitter {
	sums := make([]squares, len(bandEdges)-1)
	for i, d := range r.deflection {
		b := 0
		for b+1 < len(sums) && d >= bandEdges[b+1] {
			b++
		}
		sums[b].add(r.before[i], r.after[i])
	}
	var out []BandJitter
	for i := range sums {
		if j := sums[i].rms(); j != nil {
			out = append(out, BandJitter{From: bandEdges[i], To: bandEdges[i+1], JitterRMS: *j})
		}
	}
	return out
}

// worst returns the ten seconds within one stretch with the largest mean square
// jitter before; where no stretch lasts so long, the whole of the worst one.
func (r *residuals) worst() *WorstStretch {
	var best *WorstStretch
	lasts := false
	for k, from := range r.breaks {
		to := len(r.at)
		if k+1 < len(r.breaks) {
			to = r.breaks[k+1]
		}
		long := r.at[to-1]-r.at[from] >= worstSeconds
		if lasts && !long {
			continue
		}
		if w := r.worstOf(from, to); best == nil || long && !lasts || w.Before > best.Before {
			best, lasts = w, long
		}
	}
	return best
}

// worstOf slides ten seconds over the rows of one stretch.
func (r *residuals) worstOf(from, to int) *WorstStretch {
	var sum, best squares
	start, bestFrom, bestTo := from, from, to
	for i := from; i < to; i++ {
		sum.add(r.before[i], r.after[i])
		if i+1 < to && r.at[i+1]-r.at[start] <= worstSeconds {
			continue // not yet full, and not yet the end
		}
		if best.n == 0 || sum.before*float64(best.n) > best.before*float64(sum.n) {
			best, bestFrom, bestTo = sum, start, i+1
		}
		for start < i && i+1 < to && r.at[i+1]-r.at[start] > worstSeconds {
			sum.before -= r.before[start] * r.before[start]
			sum.after -= r.after[start] * r.after[start]
			sum.n--
			start++
		}
	}
	return &WorstStretch{
		From: r.at[bestFrom], To: r.at[bestTo-1], JitterRMS: *best.rms(),
		NoiseBefore: r.before[bestFrom:bestTo:bestTo], NoiseAfter: r.after[bestFrom:bestTo:bestTo],
	}
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
		d.Says = fmt.Sprintf("at %.0f %% throw you will get %.0f %% instead of %.0f %%", 100*d.At, 100*d.After, 100*d.Before)
	}
	return d
}
