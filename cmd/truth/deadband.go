package main

import (
	"math"
	"slices"

	"halfstick/curves"
	"halfstick/fit/measure"
	"halfstick/fit/propose"
	"halfstick/input"
	"halfstick/input/rig"
)

// sessions is how long the fresh sessions are, and that every so many devices
// have one. In a session the axis is released from either side and left at rest
// for half of it each time. The drift goes on as it was, from where the centre
// was measured, until it has gone as far as the deadband reckons with.
type sessions struct {
	minutes float64
	every   int
}

const mostDrift = 0.02 // of half-throw, in a session

// promise is how one axis's deadband did in a session.
type promise struct {
	made     string
	kind     input.Kind
	rested   float64 // seconds, in the recording
	spiky    bool    // the axis has spikes
	promised float64 // false motions in the session
	motions  float64 // false motions that there were
	unseen   bool    // it has spikes, of which the recording showed none
	none     bool    // there is none: the proposal says that it does not keep the rate
	outside  bool    // it came to rest outside of the deadband, or drifted out
	// noise is how often the noise alone left the excursion part about the
	// reading without noise, promised as often.
	noise float64
	// Half-widths of both sides together, in counts: the deadband's, and the
	// smallest ones that would have kept half the promise each; the same of
	// the excursion part.
	width, least          float64
	excursion, leastNoise float64
}

// keeps holds the deadbands of one device against a session each.
func keeps(d device, r *recorded, m *measure.Measurement, minutes float64) ([]promise, error) {
	opts := propose.Defaults()
	p, err := propose.Axes([]*input.Recording{r.rec}, []*measure.Measurement{m}, opts)
	if err != nil {
		return nil, err
	}
	var out []promise
	for i, a := range p.Axes {
		if a.Deadband.Low.HalfWidth == 0 {
			continue // something could not be measured; it stays straight
		}
		if a.Deadband.Low.FallsShort || a.Deadband.High.FallsShort {
			out = append(out, promise{made: d.made, none: true})
			continue
		}
		s := newSession(a)
		t := r.rig.Truth()[i]
		driftCounts := func(minutes float64) float64 {
			most := mostDrift * math.Min(s.perU[0], s.perU[1])
			return math.Min(math.Max(t.DriftCountsPerMinute*minutes, -most), most)
		}
		begun := r.axes[i].centred(t.Kind).minutes() * t.DriftCountsPerMinute
		r.rig.SimulateSession(i, rig.Session{
			Releases: 2, After: d.plan.Settle - 0.5, Seconds: 30 * minutes,
			DriftSteps: func(seconds float64) float64 { return (begun + driftCounts(seconds/60)) / t.StepCounts },
		}, s.visit)
		out = append(out, s.promise(promise{
			made: d.made, kind: t.Kind, rested: r.axes[i].restFor, spiky: t.SpikesPerMinute > 0,
			promised: opts.FalseMotions * minutes,
			unseen:   t.SpikesPerMinute > 0 && a.Measured.Rest.SpikesPerMinute != nil && a.Measured.Rest.SpikesPerMinute.Value == 0,
		}))
	}
	return out, nil
}

// centred is when the zero of an axis was measured: in its releases, or at its
// low stop if it is one-sided. A lever that falls back to its idle stop passes
// the middle too, but rests nowhere else.
func (s seen) centred(kind input.Kind) visits {
	if kind == input.OneSided {
		return s.stops[0]
	}
	return visits{times: slices.Concat(s.releases[0].times, s.releases[1].times)}
}

// session watches one axis.
type session struct {
	response  curves.Response
	perU      [2]float64 // counts a u of the low and the high side
	half      [2]float64 // half-widths, counts
	excursion float64    // counts
	way       [2]levels  // of the distance from the centre towards either side
	noise     [2]levels  // of the distance from the noiseless reading
	motions   float64
	moving    bool
	outside   bool // the reading without noise was outside of the deadband
	release   int
}

func newSession(a propose.AxisProposal) *session {
	r := a.Profile.Response
	c := r.Calibration
	s := &session{response: r, release: -1}
	s.perU = [2]float64{c.Centre - c.Low, c.High - c.Centre}
	if r.Kind == curves.OneSided {
		s.perU = [2]float64{c.High - c.Low, c.High - c.Low}
		s.half[1] = a.Deadband.Low.HalfWidth * s.perU[1]
	} else {
		s.half = [2]float64{a.Deadband.Low.HalfWidth * s.perU[0], a.Deadband.High.HalfWidth * s.perU[1]}
	}
	s.excursion = a.Deadband.Low.Excursion * s.perU[0]
	for side := range 2 {
		s.way[side] = newLevels(math.Max(4*s.half[side], 100))
		s.noise[side] = newLevels(math.Max(4*s.excursion, 100))
	}
	return s
}

// visit takes one report.
func (s *session) visit(release int, counts int16, noiseless float64) {
	fresh := release != s.release
	s.release = release
	x := float64(counts)
	moving := s.response.FromCounts(x) != 0
	if moving && (fresh || !s.moving) {
		s.motions++
	}
	s.moving = moving
	s.outside = s.outside || s.response.FromCounts(noiseless) != 0
	zero := s.response.Calibration.Centre
	if s.response.Kind == curves.OneSided {
		zero = s.response.Calibration.Low
	} else {
		s.way[0].next(zero-x, fresh)
		s.noise[0].next(noiseless-x, fresh)
	}
	s.way[1].next(x-zero, fresh)
	s.noise[1].next(x-noiseless, fresh)
}

// promise sums the session up.
func (s *session) promise(p promise) promise {
	p.motions, p.outside = s.motions, s.outside
	sides := []int{0, 1}
	if s.response.Kind == curves.OneSided {
		sides = []int{1}
	}
	each := p.promised / float64(len(sides))
	for _, side := range sides {
		p.noise += s.noise[side].above(s.excursion)
		p.width += s.half[side]
		p.excursion += s.excursion
		p.least += s.way[side].least(each)
		p.leastNoise += s.noise[side].least(each)
	}
	return p
}

// levels counts how often a series steps up over each of many levels.
type levels struct {
	width  float64
	change []float64 // of the count from each level to the next
	last   int
}

const levelCount = 4000

func newLevels(top float64) levels {
	return levels{width: top / levelCount, change: make([]float64, levelCount+2)}
}

// next takes a value; a series starts afresh from level 0.
func (l *levels) next(x float64, fresh bool) {
	at := int(math.Min(math.Max(math.Ceil(x/l.width), 0), levelCount))
	if fresh {
		l.last = 0
	}
	if at > l.last { // steps over the levels last … at−1
		l.change[l.last]++
		l.change[at]--
	}
	l.last = at
}

// above is how often the series stepped up over the level x.
func (l levels) above(x float64) float64 {
	sum := 0.0
	for _, c := range l.change[:min(int(math.Ceil(x/l.width)), levelCount)+1] {
		sum += c
	}
	return sum
}

// least is the least level that is stepped over no more than so often, and
// no higher level is stepped over more often.
func (l levels) least(times float64) float64 {
	sum := 0.0
	for i := levelCount; i >= 0; i-- {
		sum -= l.change[i+1]
		if sum > times {
			return float64(i+1) * l.width
		}
	}
	return 0
}
