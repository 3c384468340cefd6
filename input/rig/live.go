package rig

import (
	"fmt"
	"math"
	"math/rand/v2"

	"halfstick/input"
)

// Wish is what a live hand is asked to do. Its strings are those of whoever
// asks; a Task that the hand does not know is nothing to do.
type Wish struct {
	// Task is "name" (move the control called Label to both stops and let it
	// go; any that was not shown yet where Label is empty), "sweep" or
	// "coupling", "rest", "release" or "hold". A rest with an Axis asks for it
	// to be moved a little.
	Task  string
	Axis  int    // in column order; −1 for name and for a rest of all
	Label string // for name
	Side  string // for release: "low", "high", or "" for both in turn
	// Serial changes with every new wish, also with one for the same again.
	Serial int
}

// Live is a hand without an end, which does what it is asked for, time and
// again until it is asked for something else, and else flies gently or leaves
// everything alone. The zero value is ready, and deft.
type Live struct {
	// Ask returns the wish of now; it is called some twenty times a second of
	// the rig's time. Nil asks for nothing, ever.
	Ask func() Wish
	// Fly says that the hand flies where nothing is asked.
	Fly bool
	// Names are the labels of the axes that the hand moves for other labels.
	Names map[string]string
	// Clumsy is what it gets wrong.
	Clumsy Clumsy

	rig   *Rig
	hands []liveHand
	asked float64 // when, in seconds
	wish  Wish
	shown map[int]bool
	doing motion
	next  motion  // what it does from since on
	since float64 // seconds
	began float64 // of doing
}

// Clumsy says how often, counted from the first, a hand gets something wrong.
type Clumsy struct {
	HalfSweeps   int // goes only part of the way
	TouchedRests int // touches the first axis in the middle of a rest
	ShortPushes  int // pushes only half of the way before it lets go
	WrongAxes    int // sweeps the next axis first, for six seconds
	Dozes        int // does nothing for as long as it is asked, whatever it is
}

// liveHand is the hand on one axis.
type liveHand struct {
	held bool
	at   float64 // where it pulls to, in x
	fly  Hand
}

// motion is what a hand wants of axis i at t seconds since it began.
type motion func(i int, t float64) (target float64, held bool)

const (
	reaction   = 0.7  // seconds from a wish to the first movement
	askEvery   = 0.05 // seconds
	handSpeed  = 3.5  // x a second: the fastest that the hand moves a control
	liveSweep  = 4.0  // seconds from stop to stop
	liveWait   = 3.2  // seconds that a released control is left alone
	touchAfter = 4.0  // seconds of rest before a clumsy touch
)

// SetLive puts a live hand on the rig, instead of a script. It is an error to
// change the hand of a rig that has moved.
func (r *Rig) SetLive(l *Live) error {
	if r.ticks > 0 {
		return fmt.Errorf("the rig has been running for %v; set the hand of a new rig", r.now())
	}
	l.rig, l.shown, l.asked, l.since = r, map[int]bool{}, math.Inf(-1), math.Inf(1)
	l.hands = make([]liveHand, len(r.axes))
	for i, a := range r.axes {
		rng := rand.New(rand.NewPCG(r.seed, flightStream+uint64(3000+i)))
		l.hands[i].fly = gentle(a.spec, rng)
	}
	r.live = l
	return nil
}

// gentle is a flight without an end: two-sided axes about their centre,
// levers about where they are set, brakes left alone.
func gentle(spec AxisSpec, rng *rand.Rand) Hand {
	switch {
	case spec.Kind == input.TwoSided:
		w := newWaves(rng, 24, flightFromHz, flightToHz, flightSigma)
		return func(t float64) (float64, bool) { return math.Min(math.Max(w.at(t), -1), 1), true }
	case spec.Spring == (Spring{}):
		return flyLever(rng)
	}
	return nil
}

// advance moves axis i by one step at t seconds.
func (l *Live) advance(i int, t float64) {
	a, h := l.rig.axes[i], &l.hands[i]
	target, held := l.target(i, t)
	if held && !h.held {
		h.at = a.x
	}
	h.held = held
	h.at += math.Min(math.Max(target-h.at, -handSpeed*step), handSpeed*step)
	a.advance(h.at, held)
}

func (l *Live) target(i int, t float64) (float64, bool) {
	if t >= l.since {
		l.doing, l.began, l.since = l.next, l.since, math.Inf(1)
	}
	if l.doing != nil {
		return l.doing(i, t-l.began)
	}
	if l.Fly && l.wish.Task == "" && l.hands[i].fly != nil {
		return l.hands[i].fly(t)
	}
	return 0, false
}

// listen asks for the wish of now, at t seconds.
func (l *Live) listen(t float64) {
	if l.Ask == nil || t < l.asked+askEvery {
		return
	}
	l.asked = t
	before := l.wish
	l.wish = l.Ask()
	same := l.wish.Serial == before.Serial && l.wish.Task == before.Task
	if same && (l.wish.Task != "rest" || l.wish.Axis == before.Axis) {
		return
	}
	l.since = t + reaction
	l.next = l.obey()
}

// once counts down what is still to be got wrong.
func once(n *int) bool {
	*n--
	return *n >= 0
}

func (l *Live) obey() motion {
	w := l.wish
	if w.Task != "" && once(&l.Clumsy.Dozes) {
		return nil
	}
	if w.Task == "name" {
		return l.show(w.Label)
	}
	if w.Task == "rest" && w.Axis >= 0 && w.Axis < len(l.hands) {
		return only(w.Axis, nudge(l.rig.home(w.Axis), 0.6))
	}
	if w.Task == "rest" {
		if once(&l.Clumsy.TouchedRests) {
			return only(0, later(touchAfter, nudge(l.rig.home(0), 0.2)))
		}
		return nil
	}
	if w.Axis < 0 || w.Axis >= len(l.hands) {
		return nil
	}
	switch w.Task {
	case "sweep", "coupling":
		return l.sweep(w.Axis)
	case "release":
		return l.release(w.Axis)
	case "hold":
		return l.hold(w.Axis)
	}
	return nil
}

// only lets a hand work on one axis.
func only(axis int, h Hand) motion {
	return func(i int, t float64) (float64, bool) {
		if i != axis {
			return 0, false
		}
		return h(t)
	}
}

// nudge moves a control to and fro within a second, and lets it go.
func nudge(home, by float64) Hand {
	return func(t float64) (float64, bool) { return home + by*math.Sin(math.Pi*t), t < 1 }
}

func later(seconds float64, h Hand) Hand {
	return func(t float64) (float64, bool) {
		if t < seconds {
			return 0, false
		}
		return h(t - seconds)
	}
}

// show moves a control to both stops, back to where it was, and lets it go.
func (l *Live) show(label string) motion {
	if name, ok := l.Names[label]; ok {
		label = name
	}
	axis := -1
	for i, a := range l.rig.axes {
		if a.spec.Label == label || label == "" && axis < 0 && !l.shown[i] {
			axis = i
		}
	}
	if axis < 0 {
		return nil
	}
	l.shown[axis] = true
	home, low, high := l.rig.axes[axis].x, l.rig.pressed(axis, false), l.rig.pressed(axis, true)
	return only(axis, func(t float64) (float64, bool) {
		switch {
		case t < 1:
			return low, true
		case t < 2.2:
			return high, true
		case t < 3.2:
			return home, true
		}
		return 0, false
	})
}

func (l *Live) sweep(axis int) motion {
	low, high := l.rig.pressed(axis, false), l.rig.pressed(axis, true)
	if once(&l.Clumsy.HalfSweeps) {
		low, high = low*0.6, high*0.6
	}
	unsteady := newWaves(rand.New(rand.NewPCG(l.rig.seed, flightStream+uint64(1000+axis))), 6, 0.15, 1.2, 0.004)
	hand := func(t float64) (float64, bool) {
		share := math.Mod(math.Max(0, t-reach), 2*liveSweep) / liveSweep
		if share > 1 {
			share = 2 - share
		}
		return low + share*(high-low) + unsteady.at(t), true
	}
	if !once(&l.Clumsy.WrongAxes) {
		return only(axis, hand)
	}
	const wrong = 6.0
	other := (axis + 1) % len(l.hands)
	return func(i int, t float64) (float64, bool) {
		switch {
		case i == other && t < wrong:
			return hand(t)
		case i == axis && t >= wrong:
			return hand(t - wrong)
		}
		return 0, false
	}
}

// release pushes to a stop, lets go and waits, from both sides in turn or from
// the one that is wanted.
func (l *Live) release(axis int) motion {
	const hold = 0.3
	cycle := reach + hold + liveWait
	one := l.rig.axes[axis].spec.Kind == input.OneSided
	home, short := l.rig.home(axis), -1
	if once(&l.Clumsy.ShortPushes) {
		short = 0
	}
	round, high := -1, false
	return only(axis, func(t float64) (float64, bool) {
		if k := int(t / cycle); k != round {
			round = k
			high = l.wish.Side == "high" || l.wish.Side == "" && (one || k%2 == 0)
		}
		stop := l.rig.pressed(axis, high)
		if round == short {
			stop = home + 0.55*(stop-home)
		}
		return stop, t-float64(round)*cycle < reach+hold
	})
}

func (l *Live) hold(axis int) motion {
	a := l.rig.axes[axis]
	half := (math.Max(a.low, 0) + a.high) / 2
	tremor := newWaves(rand.New(rand.NewPCG(l.rig.seed, flightStream+uint64(2000+axis))), 8, 6, 12, 0.0003)
	return only(axis, func(t float64) (float64, bool) { return half + tremor.at(t), true })
}
