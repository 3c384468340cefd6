package propose

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
	"halfstick/curves"
	"halfstick/fit/measure"
	"halfstick/fit/stats"
)

// DefaultCrossover, radians per second, and PilotDelay, s, are a row of the
// crossover model's table in testdata/reference/crossover.json; a person
// correcting by hand is thought to lie near it (common practice, no source).
const (
	DefaultCrossover = 3.0
	PilotDelay       = 0.3
)

// Smoothing asks for a filter on the position, before the response; the zero
// value smooths nothing. Crossover is where its phase is stated, radians per
// second.
type Smoothing struct {
	Filter    stats.Smoother
	Crossover float64
}

func (s Smoothing) check() error {
	if s.Filter == nil {
		return nil
	}
	if limit := math.Pi / 2 / PilotDelay; !(s.Crossover > 0) || s.Crossover >= limit {
		return fmt.Errorf("a crossover of %g rad/s cannot be flown: the crossover model has phase margin above 0 and below %.1f rad/s only; give one between them, 3 as a rule", s.Crossover, limit)
	}
	return nil
}

// SmoothingCost is what smoothing costs an axis.
type SmoothingCost struct {
	Crossover float64 `json:"crossover_rad_per_s"`
	// AtRest holds for slow motion, by the weights that the filter had while
	// the axis was at rest (by its definition where no rest was recorded); InMotion
	// where the hand is faster than its RMS speed in the moving phases, nil without
	// them.
	AtRest   Lag  `json:"at_rest"`
	InMotion *Lag `json:"in_motion"`
	// Measured is by how much, ms, the smoothed position trails the hand in the
	// moving phases; nil where the hand hardly moved.
	Measured *measure.Quantity `json:"lag_measured"`
	// Unsmoothed is the loop without smoothing; two-sided axes only.
	Unsmoothed *Loop `json:"loop_before"`
	// FalseMotions are those left at rest.
	FalseMotions int    `json:"false_motions"`
	Says         string `json:"says"` // what it does in flight, in plain words
}

// Lag is a delay and what it does to a loop flown by hand, nil for one-sided
// axes.
type Lag struct {
	MS       float64  `json:"lag_ms"`
	PhaseDeg *float64 `json:"phase_degrees"` // lost at the crossover
	Loop     *Loop    `json:"loop"`
}

// Loop is the crossover model's loop.
type Loop struct {
	MarginDeg float64 `json:"phase_margin_degrees"`
	// Overshoot is by how much the correction of a sudden error goes too far,
	// percent of the error; nil where the loop would not settle.
	Overshoot *float64 `json:"overshoot_percent"`
}

func loopOf(crossover, delay float64) *Loop {
	l := &Loop{MarginDeg: stats.PhaseMargin(crossover, delay) * 180 / math.Pi}
	if v := 100 * stats.StepOvershoot(crossover, delay); !math.IsInf(v, 1) {
		l.Overshoot = &v
	}
	return l
}

// lagSeries gathers what the lag is worked out from.
type lagSeries struct {
	motions int       // false ones at rest
	restTau []float64 // time constant in force at each row at rest, s
	moving  []trail
	steps   []float64 // between rows, s
}

// trail is a moving stretch: the hand and the smoothed position behind it.
type trail struct{ at, hand, smoothed, tau []float64 }

// taus are the time constants in force at the rows after the first.
func (l *lagSeries) taus(p replayedPart) []float64 {
	var out []float64
	for i := 1; i < len(p.alpha); i++ {
		step := p.at[i] - p.at[i-1]
		l.steps = append(l.steps, step)
		out = append(out, step*stats.FirstOrderLag(p.alpha[i]))
	}
	return out
}

func (l *lagSeries) addRest(p replayedPart) {
	l.restTau = append(l.restTau, l.taus(p)...)
	l.motions += departures(p.smoothed)
}

// addMoving takes the hand that was found behind a part's positions.
func (l *lagSeries) addMoving(p replayedPart, hand []float64) {
	if hand != nil && p.alpha != nil {
		l.moving = append(l.moving, trail{p.at, hand, p.smoothU, l.taus(p)})
	}
}

func (l *lagSeries) cost(s Smoothing, kind curves.Kind) *SmoothingCost {
	c := &SmoothingCost{Crossover: s.Crossover, Measured: l.measured(s.Filter.Tau()), FalseMotions: l.motions}
	lag := func(tau float64) Lag {
		out := Lag{MS: 1000 * tau}
		if kind == curves.TwoSided {
			phase := stats.FirstOrderPhase(tau, median(l.steps), s.Crossover)
			degrees := phase * 180 / math.Pi
			out.PhaseDeg, out.Loop = &degrees, loopOf(s.Crossover, PilotDelay+phase/s.Crossover)
		}
		return out
	}
	if kind == curves.TwoSided {
		c.Unsmoothed = loopOf(s.Crossover, PilotDelay)
	}
	c.AtRest = lag(s.Filter.Tau())
	if len(l.restTau) > 0 {
		c.AtRest = lag(median(l.restTau))
	}
	if tau := l.fast(); len(tau) > 0 {
		inMotion := lag(median(tau))
		c.InMotion = &inMotion
	}
	c.Says = c.says()
	return c
}

// fast are the time constants where the hand is faster than its RMS speed.
func (l *lagSeries) fast() []float64 {
	var speeds, taus, out []float64
	sum := 0.0
	for _, m := range l.moving {
		for i := 1; i < len(m.at); i++ {
			v := math.Abs(m.hand[i]-m.hand[i-1]) / (m.at[i] - m.at[i-1])
			speeds = append(speeds, v)
			sum += v * v
		}
		taus = append(taus, m.tau...)
	}
	limit := math.Sqrt(sum / math.Max(1, float64(len(speeds))))
	for i, v := range speeds {
		if v >= limit {
			out = append(out, taus[i])
		}
	}
	return out
}

// median of nothing is 0.
func median(x []float64) float64 {
	if len(x) == 0 {
		return 0
	}
	sorted := slices.Sorted(slices.Values(x))
	return stat.Quantile(0.5, stat.Empirical, sorted, nil)
}

const (
	lagBlockSeconds = 10.0 // longer than a correction takes
	farthestLag     = 5.0  // looked for, in the filter's time constants at rest
	atTheEdge       = 0.99 // of that, from where it is not a lag that was found
)

// measured is the delay at which the hand comes nearest the smoothed position
// in the mean square. Its interval takes blocks of ten seconds as independent.
//
// Source: the interval is the sandwich of Liang & Zeger, Biometrika 73 (1986)
// 13 (from memory), with Student's t on the blocks.
func (l *lagSeries) measured(tau float64) *measure.Quantity {
	distance := func(lag float64) float64 {
		sum, n := 0.0, 0
		for _, m := range l.moving {
			m.behind(lag, func(_ int, e, _ float64) { sum, n = sum+e*e, n+1 })
		}
		return sum / math.Max(1, float64(n))
	}
	lag := stats.GoldenMax(func(d float64) float64 { return -distance(d) }, 0, farthestLag*tau, 30)
	if lag > atTheEdge*farthestLag*tau {
		return nil
	}
	q := &measure.Quantity{Value: 1000 * lag, Unit: "ms", Method: "delay of the hand that comes nearest the smoothed position in the mean square"}
	h := tau / 4
	curvature := (distance(lag+h) - 2*distance(lag) + distance(lag-h)) / (2 * h * h)
	if !(curvature > 0) {
		return nil
	}
	scores := map[[2]int]float64{}
	for k, m := range l.moving {
		m.behind(lag, func(i int, e, slope float64) {
			scores[[2]int{k, int((m.at[i] - m.at[0]) / lagBlockSeconds)}] += e * slope
			q.N++
		})
	}
	if n := float64(len(scores)); n > 1 {
		sum := 0.0
		for _, v := range scores {
			sum += v * v
		}
		sd := math.Sqrt(sum*n/(n-1)) / (curvature * float64(q.N)) * math.Sqrt(n)
		low, high := stats.MeanIntervalFrom(lag, sd, n, 0.95)
		low, high = 1000*low, 1000*high
		q.Low, q.High = &low, &high
	} else {
		q.Method += "; no interval from less than two blocks of ten seconds"
	}
	return q
}

// behind calls f with each row's distance of the smoothed position from the
// hand lag seconds before, and the hand's speed there.
func (m trail) behind(lag float64, f func(i int, e, slope float64)) {
	j := 0
	for i, t := range m.at {
		t -= lag
		if t < m.at[0] || t > m.at[len(m.at)-1] {
			continue
		}
		for j+2 < len(m.at) && m.at[j+1] <= t {
			j++
		}
		slope := (m.hand[j+1] - m.hand[j]) / (m.at[j+1] - m.at[j])
		f(i, m.smoothed[i]-m.hand[j]-slope*(t-m.at[j]), slope)
	}
}
