package measure

import (
	"errors"
	"fmt"
	"math"

	"halfstick/fit/parallel"
	"halfstick/input"
)

// FormatName is the format field of a measurement.
const FormatName = "halfstick measurement 1"

// analysis measures one axis; steps fill out.
type analysis struct {
	series *series
	out    *Axis

	clock    clock
	lattice  lattice
	hasGrid  bool
	step     float64 // counts; 1 where unknown
	restMean *Quantity

	restResidual    float64 // counts²: variance of rest reports about the running fit
	restFollowed    float64 // counts²: what the running fit takes off that variance
	hasRestResidual bool
	jitter          jitter
	wornSigma       float64 // counts: noise within the worn band

	noiseGuess float64 // counts, for windows and gates before σ is known

	low, high, centreAt  float64
	hasTravel, hasCentre bool
	stopTime             [2]float64     // seconds: mean times at which the low and the high stop were seen
	centreTime           float64        // seconds: mean time at which the centre was seen
	stays, landings      [2][]seenLevel // at the stops, and where releases from the low and the high side ended

	restSeconds float64
	restReports int
	longestRun  int // equal reports running that noise may bring; 0 where any number
	watch       spikeWatch
	ends        [2]scatterWatch // of releases from the low and the high side
	releases    [2]int          // from low, from high
	traversed   int
}

func (a *analysis) note(format string, args ...any) {
	a.out.Notes = append(a.out.Notes, fmt.Sprintf(format, args...))
}

func (a *analysis) oneSided() bool { return a.out.Kind == string(input.OneSided) }

// moving lists the segments in which this axis is moved from stop to stop.
func (a *analysis) moving() []segment {
	out := a.series.of(input.Sweep)
	out = append(out, a.series.of(input.ReleaseLow)...)
	return append(out, a.series.of(input.ReleaseHigh)...)
}

// reports thins a segment to the device's own reports and puts their counts
// on the lattice: scaling a code to counts rounds it, so that now and then two
// neighbouring codes lie a count farther apart than others, which would pass
// for noise where the noise is of the order of a step.
func (a *analysis) reports(s segment) segment {
	s = s.reports(a.clock, a.series.rowTime)
	if !a.hasGrid || a.step == 1 {
		return s
	}
	x := make([]float64, len(s.x))
	for i, v := range s.x {
		x[i] = a.onLattice(v)
	}
	s.x = x
	return s
}

// onLattice is the place on the lattice nearest to v counts.
func (a *analysis) onLattice(v float64) float64 {
	if !a.hasGrid || a.step == 1 {
		return v
	}
	return a.lattice.anchor + a.step*a.lattice.steps(v)
}

// reportSeconds is the time between the samples that reports returns.
func (a *analysis) reportSeconds() float64 {
	if a.clock.thins(a.series.rowTime) {
		return a.clock.period
	}
	return a.series.rowTime
}

// Recording measures every axis of a recording. The name is kept in the
// result. A recording without rows or columns is an error; a recording that
// holds too little for some quantity is not: that quantity is nil and the
// axis's notes say what is missing.
func Recording(rec *input.Recording, name string) (*Measurement, error) {
	if rec == nil {
		return nil, errors.New("no recording to measure; read one first")
	}
	if len(rec.Columns) == 0 {
		return nil, fmt.Errorf("%s: the recording has no axes; record a device with at least one", name)
	}
	if rec.Rows() == 0 {
		return nil, fmt.Errorf("%s: the recording has no rows; record at least 10 s of rest", name)
	}
	m := &Measurement{Format: FormatName, Recording: name, Axes: make([]Axis, len(rec.Columns)),
		Sampling: rec.Samplings(), Events: rec.Events()}
	k := newTrack(rec)
	devices := columnsOfDevices(rec)
	parallel.Each(len(devices), func(i int) { measureDevice(k, devices[i], m.Axes) })
	return m, nil
}

// columnsOfDevices lists the columns of each device that has any.
func columnsOfDevices(rec *input.Recording) [][]int {
	byDevice := map[string][]int{}
	var ids []string
	for i := range rec.Columns {
		d, _ := rec.AxisOf(i)
		if byDevice[d.ID] == nil {
			ids = append(ids, d.ID)
		}
		byDevice[d.ID] = append(byDevice[d.ID], i)
	}
	out := make([][]int, len(ids))
	for i, id := range ids {
		out[i] = byDevice[id]
	}
	return out
}

// measureDevice fills the axes in the columns of one device. They share its reports'
// clock, its rests and their coupling, and nothing with other devices' axes.
func measureDevice(k *track, cols []int, out []Axis) {
	axes := make([]*analysis, len(cols))
	each := func(do func(a *analysis)) { parallel.Each(len(axes), func(i int) { do(axes[i]) }) }
	parallel.Each(len(axes), func(i int) { axes[i] = newAnalysis(newSeries(k, cols[i]), &out[cols[i]]) })
	findRests(axes)
	each(func(a *analysis) {
		a.cutTouched()
		a.findMoves()
	})
	clock := deviceClock(k, cols)
	each(func(a *analysis) {
		a.clock = clock
		a.measure()
	})
	each(func(a *analysis) {
		a.coupling(axes)
		a.findings()
	})
}

func newAnalysis(s *series, out *Axis) *analysis {
	*out = Axis{Device: s.device.ID, Label: s.axis.Label, Index: s.axis.Index, Kind: string(s.axis.Kind)}
	a := &analysis{series: s, out: out, step: 1}
	if l, ok := axisLattice(s.column, s.axis); ok {
		a.lattice, a.hasGrid, a.step = l, true, l.step
	}
	return a
}

func (a *analysis) measure() {
	if a.series.rows == 0 {
		a.note("the axis was never present: no report came from it")
		return
	}
	if a.hasGrid {
		a.out.Step = a.lattice.quantity()
		a.out.EffectiveBits = a.lattice.bits()
	} else {
		a.note("step: fewer than %d distinct counts; sweep the axis from stop to stop", minDistinct)
	}
	a.timing()
	a.rest()
	a.travel()
	a.returns()
	a.spikes()
	a.restingNoise()
	a.driftOverall()
	a.centre()
	a.sweep()
	a.noiseFree()
}

// noiseFree gives the levels that noise does not blur: travel/(6.6σ), the
// peak-to-peak convention of converter data sheets.
func (a *analysis) noiseFree() {
	s := a.out.Rest.Sigma
	if s == nil || !a.hasTravel || s.Value <= 0 {
		return
	}
	travel := a.high - a.low
	const how = "travel/(6.6 σ), the peak-to-peak convention of converter data sheets"
	v := travel / (6.6 * s.Value)
	if s.Low == nil || *s.Low <= 0 {
		a.out.NoiseFreeLevels = bare(v, unitLevels, s.N, how+"; no interval, as σ has no lower bound")
		return
	}
	shorter, longer := a.travelSlack()
	low := v * (1 - math.Hypot(1 - s.Value / *s.High, shorter))
	high := v * (1 + math.Hypot(s.Value / *s.Low - 1, longer))
	a.out.NoiseFreeLevels = notNegative(within(v, low, high, unitLevels, s.N, how+"; interval from those of σ and of the travel"))
}

// travelSlack is by what shares of itself the travel's interval allows it to be
// shorter and longer.
func (a *analysis) travelSlack() (shorter, longer float64) {
	u := a.out.Travel.UsedShare
	if u == nil || u.Low == nil || u.Value <= 0 {
		return 0, 0
	}
	return 1 - *u.Low/u.Value, *u.High/u.Value - 1
}

// Axis finds an axis by its label, or by device and label with a dot between.
func (m *Measurement) Axis(label string) (*Axis, error) {
	for i := range m.Axes {
		a := &m.Axes[i]
		if a.Label == label || a.Device+"."+a.Label == label {
			return a, nil
		}
	}
	var have []string
	for _, a := range m.Axes {
		have = append(have, a.Label)
	}
	return nil, fmt.Errorf("%s: no axis %q; it has %v", m.Recording, label, have)
}
