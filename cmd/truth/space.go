package main

import (
	"math"
	"math/rand/v2"

	"halfstick/input"
	"halfstick/input/rig"
)

// What a simulated device was made to be: sound, with one fault that is at
// least twice its threshold, or anything in the space.
const (
	healthy = "healthy"
	mixed   = "mixed"
)

// faults are the findings that a device is made for, one at a time.
var faults = []string{
	"rest-noise", "spikes", "drift", "off-centre", "poor-return-low", "poor-return-high",
	"short-travel-low", "short-travel-high", "dead-side-low", "dead-side-high",
	"worn-band", "plateau", "coarse-step", "stalls", "dropouts", "coupling",
}

// device is a simulated device, what it was made for and how it is recorded.
type device struct {
	made   string // healthy, mixed or one of faults
	seed   uint64
	spec   rig.DeviceSpec
	plan   rig.Plan
	rateHz float64
}

// chance draws the numbers of one device.
type chance struct{ *rand.Rand }

func (c chance) between(low, high float64) float64 { return low + (high-low)*c.Float64() }

// spread is even in the logarithm.
func (c chance) spread(low, high float64) float64 {
	return low * math.Pow(high/low, c.Float64())
}

func (c chance) sign() float64 {
	if c.IntN(2) == 0 {
		return -1
	}
	return 1
}

func (c chance) one(p float64) bool { return c.Float64() < p }

// draw makes device number i of a series. Where nothing else is asked for, two of
// five devices are healthy, two have one clear fault, one is mixed.
func (s series) draw(i int) device {
	c := chance{rand.New(rand.NewPCG(s.seed, uint64(i)))}
	d := device{made: mixed, seed: c.Uint64()}
	switch {
	case s.only != "":
		d.made = s.only
	case i%5 < 2:
		d.made = healthy
	case i%5 < 4:
		d.made = faults[(i/5*2+i%5-2)%len(faults)]
	}
	// Only the strength that is wanted is kept; few draws are thrown away.
	for range 1000 {
		d.fill(c)
		if d.wanted() {
			return d
		}
	}
	panic("no device of kind " + d.made + " in a thousand draws")
}

// wanted tells whether a device is what it was made for.
func (d device) wanted() bool {
	if d.made == mixed {
		return true
	}
	r, err := rig.New([]rig.DeviceSpec{d.spec}, d.seed)
	if err != nil {
		return false
	}
	for i, t := range r.Truth() {
		for code, share := range causes(d.spec.Axes[i], t) {
			switch {
			case code == d.made && i == 0:
				if share < clearFault {
					return false
				}
			case d.made == "coarse-step" && i == 0:
				// Eight bits are coarse only where some travel is lost too.
			case share > soundShare:
				return false
			}
		}
	}
	return true
}

func (d *device) fill(c chance) {
	d.rateHz = []float64{250, 333, 500, 1000}[c.IntN(4)]
	d.plan = rig.Plan{
		Sweeps: 2 + c.IntN(2), SweepsOne: 2 + c.IntN(2), SweepSeconds: c.between(2, 4),
		RestSeconds: []float64{10.5, 10.5, 30, 120}[c.IntN(4)],
		Releases:    3 + c.IntN(3), ReleasesOne: 1, Settle: 3.2,
	}
	d.spec = rig.DeviceSpec{ID: "device", Name: "Example Device", ReportHz: c.spread(60, 1000)}
	if c.one(0.5) {
		d.spec.ReportHz = []float64{60, 100, 125, 200, 250, 500, 1000}[c.IntN(7)]
	}
	axes := 1
	if d.made == "coupling" || c.one(0.2) {
		axes = 2
	}
	labels := []string{"first", "second"}
	for i := range axes {
		a := soundAxis(c)
		a.Label = labels[i]
		if d.made == "coupling" {
			a.Kind, a.Spring.Centre = input.TwoSided, 0
		}
		d.spec.Axes = append(d.spec.Axes, a)
	}
	switch d.made {
	case healthy:
	case mixed:
		for i := range d.spec.Axes {
			mix(c, &d.spec.Axes[i])
		}
		d.mixDevice(c)
	case "stalls":
		d.spec.Stalls = rig.Outages{PerMinute: c.between(10, 25), Seconds: c.between(0.42, 0.8)}
	case "dropouts":
		d.spec.Dropouts = rig.Outages{PerMinute: c.between(6, 12), Seconds: c.between(0.28, 1.2)}
	case "coupling":
		d.spec.Leaks = []rig.Leak{{From: "first", To: "second", Share: c.sign() * c.between(0.3, 0.45)}}
	default:
		spoil(c, d.made, &d.spec.Axes[0])
		if d.made == "poor-return-low" || d.made == "poor-return-high" {
			d.plan.Settle = 6
		}
		if d.made == "spikes" {
			d.plan.RestSeconds = 120 // so long that most are sure to bring a few
		}
	}
}

// soundAxis draws an axis without a fault; draws that come too near to one are
// thrown away by wanted.
func soundAxis(c chance) rig.AxisSpec {
	k := c.between(15, 40)
	a := rig.AxisSpec{
		Kind: input.TwoSided, Bits: 9 + c.IntN(8), Mass: c.between(0.05, 0.15),
		Travel:         rig.Travel{Low: c.between(0.003, 0.03), High: 1 - c.between(0.003, 0.03)},
		Spring:         rig.Spring{Low: k * c.between(0.9, 1.1), High: k * c.between(0.9, 1.1), Centre: c.between(-0.01, 0.01)},
		FrictionSpread: c.between(0.05, 0.2),
	}
	a.Friction = k * c.spread(0.0005, 0.009)
	a.Damping = 2 * c.between(0.4, 1.1) * math.Sqrt(k*a.Mass)
	if c.one(0.4) {
		a.Play = c.between(0, 0.008)
	}
	if c.one(0.25) {
		a.Kind = input.OneSided
		a.Spring.Centre = -0.1
		if c.one(0.4) {
			a.Spring, a.Friction, a.Play = rig.Spring{}, 1, 0
		}
	}
	most := math.Min(20, steps(a, 0.5)/6.6)
	if c.one(0.95) && most > 0.02 {
		noise(c, &a, c.spread(0.02, most))
	}
	a.DriftStepsPerMinute = c.sign() * steps(a, c.between(0, 0.5))
	return a
}

// steps is a percentage of the half-throw (one-sided: the throw) in steps.
func steps(a rig.AxisSpec, percent float64) float64 {
	way := (a.Travel.High - a.Travel.Low) * math.Exp2(float64(a.Bits))
	if a.Kind == input.TwoSided {
		way /= 2
	}
	return way * percent / 100
}

// noise gives an axis noise of sigma steps: white, or in part wander.
func noise(c chance, a *rig.AxisSpec, sigma float64) {
	a.White, a.Wander, a.WanderCorrelation = sigma, 0, 0
	if c.one(0.5) {
		share := c.between(0.2, 1)
		a.White, a.Wander = sigma*math.Sqrt(1-share), sigma*math.Sqrt(share)
		a.WanderCorrelation = c.between(0, 0.98)
	}
}

// spoil gives an axis one fault, clearly beyond its threshold.
func spoil(c chance, code string, a *rig.AxisSpec) {
	if code == "off-centre" || code == "poor-return-low" || code == "poor-return-high" {
		if a.Kind == input.OneSided {
			a.Kind, a.Spring, a.Friction = input.TwoSided, rig.Spring{Low: 25, High: 25}, 0.1
		}
	}
	side := func(high bool, lost float64) {
		switch {
		case a.Kind == input.OneSided && high:
			a.Travel.High = 1 - lost
		case a.Kind == input.OneSided:
			a.Travel.Low = lost
		case high:
			a.Lost.High = lost
		default:
			a.Lost.Low = lost
		}
		// A side that is left has fewer steps, so noise and drift weigh more.
		quiet := (1 - lost) / 2
		a.White, a.Wander, a.DriftStepsPerMinute = a.White*quiet, a.Wander*quiet, a.DriftStepsPerMinute*quiet
		a.Bits = max(a.Bits, 14)
	}
	switch code {
	case "rest-noise":
		a.Bits = 9 + c.IntN(5)
		noise(c, a, math.Min(20, steps(*a, c.between(2.1, 6))/6.6))
	case "spikes":
		a.SpikesPerMinute = c.spread(2.1, 20)
		a.SpikeSteps = math.Max(6*sigmaSteps(*a), 2.5) * c.spread(2.7, 8)
	case "drift":
		a.DriftStepsPerMinute = c.sign() * steps(*a, c.between(2.1, 4))
	case "off-centre":
		a.Spring.Centre = c.sign() * c.between(0.11, 0.25)
	case "poor-return-low", "poor-return-high":
		softSpring(c, a, code == "poor-return-high", c.between(0.045, 0.12))
	case "short-travel-low", "short-travel-high":
		side(code == "short-travel-high", c.between(0.31, 0.49))
	case "dead-side-low", "dead-side-high":
		side(code == "dead-side-high", c.between(0.88, 0.96))
	case "worn-band":
		wear(c, a, c.spread(4.1, 10))
		a.Bits = max(a.Bits, 11)
		// So noisy that it shows, and outside of the band sound.
		noise(c, a, math.Min(20, steps(*a, math.Min(0.45, c.between(0.6, 2)/a.Worn.Times))/6.6))
	case "plateau":
		stick(c, a, c.between(0.031, 0.1))
	case "coarse-step":
		a.Bits, a.White, a.Wander = 8, 0.05, 0
		a.Travel = rig.Travel{Low: c.between(0.17, 0.2), High: c.between(0.8, 0.83)}
		if a.Kind == input.OneSided {
			a.Travel = rig.Travel{Low: 0.01, High: c.between(0.28, 0.32)}
		}
		a.DriftStepsPerMinute = 0
	}
}

func sigmaSteps(a rig.AxisSpec) float64 { return math.Hypot(a.White, a.Wander) }

// softSpring weakens one side's spring until its friction leaves it short of
// the centre by a share of the half-throw.
func softSpring(c chance, a *rig.AxisSpec, high bool, short float64) {
	a.Mass = c.between(0.02, 0.04) // light and well damped: it does not swing past the centre
	k := (a.Spring.Low + a.Spring.High) / 2
	a.Friction = k * c.between(0.006, 0.009)
	a.Damping = 2 * c.between(0.8, 1.1) * math.Sqrt(k*a.Mass)
	a.Play = 0
	if high {
		a.Spring.High = a.Friction / short
	} else {
		a.Spring.Low = a.Friction / short
	}
}

// wear puts a worn band of 3 to 20 % of the throw anywhere.
func wear(c chance, a *rig.AxisSpec, times float64) {
	low, throw := throwOf(*a)
	width := c.between(0.03, 0.2)
	from := c.between(0, 1-width)
	a.Worn = rig.Worn{From: low + throw*from, To: low + throw*(from+width), Times: times}
}

// stick puts a stuck stretch anywhere but at the stops; its width is a share of
// the half-throw (one-sided: of the throw).
func stick(c chance, a *rig.AxisSpec, width float64) {
	low, throw := throwOf(*a)
	from := low + throw*c.between(0.08, 0.85)
	a.Stuck = rig.Stretch{From: from, To: from + width}
}

func throwOf(a rig.AxisSpec) (low, throw float64) {
	if a.Kind == input.OneSided {
		return 0, 1
	}
	return -1, 2
}

// mix draws an axis from the whole space.
func mix(c chance, a *rig.AxisSpec) {
	a.Bits = 8 + c.IntN(9)
	full := math.Exp2(float64(a.Bits))
	noise(c, a, c.spread(0.02, math.Min(20, full/50)))
	a.DriftStepsPerMinute = c.sign() * steps(*a, c.between(0, 3))
	if c.one(0.25) {
		a.SpikesPerMinute, a.SpikeSteps = c.spread(0.5, 20), c.spread(5, 0.2*full)
	}
	if c.one(0.3) && a.Spring != (rig.Spring{}) {
		a.Play = c.between(0, 0.03)
	}
	if c.one(0.3) && a.Kind == input.TwoSided {
		softSpring(c, a, c.one(0.5), c.between(0.01, 0.1))
	}
	if c.one(0.3) && a.Kind == input.TwoSided {
		a.Spring.Centre = c.between(-0.2, 0.2)
	}
	switch c.IntN(6) {
	case 0:
		spoil(c, "dead-side-high", a)
	case 1:
		spoil(c, "short-travel-low", a)
	}
	if c.one(0.3) {
		wear(c, a, c.spread(1.5, 10))
	}
	if c.one(0.2) {
		stick(c, a, c.between(0.005, 0.1))
	}
	if c.one(0.15) {
		low, throw := throwOf(*a)
		a.Jump = rig.Jump{At: low + throw*c.between(0.1, 0.9), Steps: c.sign() * steps(*a, c.between(2, 8))}
	}
}

func (d *device) mixDevice(c chance) {
	if c.one(0.2) {
		d.spec.Stalls = rig.Outages{PerMinute: c.between(2, 20), Seconds: c.between(0.05, 0.6)}
	}
	if c.one(0.2) {
		d.spec.Dropouts = rig.Outages{PerMinute: c.between(1, 6), Seconds: c.between(0.02, 1)}
	}
	if len(d.spec.Axes) == 2 && c.one(0.5) {
		d.spec.Leaks = []rig.Leak{{From: "first", To: "second", Share: c.sign() * c.spread(0.01, 0.3)}}
	}
	d.plan.Settle = 6
}
