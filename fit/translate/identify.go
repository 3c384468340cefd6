package translate

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/stat/distuv"
)

// Options say how the readings were taken and what the program accepts.
type Options struct {
	// StraightAt is the setting at which the program is straight.
	StraightAt float64
	// ReadingError is the largest error of a noted position or command, as a
	// share: 0.005 where whole percents were noted.
	ReadingError float64
	// Settings are the whole numbers that the program accepts; nil if unknown.
	Settings *Range
}

// Range is a stretch of whole numbers, both ends in it.
type Range struct{ Low, High int }

// Check reports the first option that is out of range.
func (o Options) Check() error {
	switch {
	case !(o.ReadingError >= 1e-6 && o.ReadingError <= 0.1):
		return fmt.Errorf("the reading error is %g %%, expected above 0 and at most 10 %%; whole percents are good to 0.5 %%", 100*o.ReadingError)
	case !(math.Abs(o.StraightAt) <= maxSetting):
		return fmt.Errorf("the straight setting is %g, expected at most %.0f in size", o.StraightAt, maxSetting)
	case o.Settings != nil && (o.Settings.Low >= o.Settings.High || o.Settings.Low < -maxSetting || o.Settings.High > maxSetting):
		return fmt.Errorf("the settings run from %d to %d; give the lower whole number first, both at most %.0f in size",
			o.Settings.Low, o.Settings.High, maxSetting)
	}
	return nil
}

// covers reports a reading at a setting that the program is said not to accept.
func (o Options) covers(r *Readings) error {
	if o.Settings == nil {
		return nil
	}
	for _, row := range r.Rows {
		if row.Setting < float64(o.Settings.Low) || row.Setting > float64(o.Settings.High) {
			return r.fail(row.Line, "setting %g is not within the settings %d to %d that the program is said to accept; correct one of them",
				row.Setting, o.Settings.Low, o.Settings.High)
		}
	}
	return nil
}

// Candidate is one family with the scale that fits the readings best.
type Candidate struct {
	*Family
	// Scale is a per setting; ScaleLow…ScaleHigh is its 95 % interval if the
	// family is the right one, within the scales that the family can have.
	Scale, ScaleLow, ScaleHigh float64
	ChiSquare                  float64
	Weight                     float64 // how likely among the families, 0…1
	RMS                        float64 // of command as fitted less as read, share of full command
	Worst                      Reading // the reading farthest off for its variance
	WorstOff                   float64 // there: command as fitted less as read, share

	straightAt float64
}

// Command returns y of the shaped position v (0…1) at a setting of the program.
func (c *Candidate) Command(setting, v float64) float64 { return c.At(c.parameter(setting), v) }

func (c *Candidate) parameter(setting float64) float64 { return c.Scale * (setting - c.straightAt) }

// Identified is what the readings say about the program.
type Identified struct {
	Candidates []Candidate // the likeliest first
	Readings   *Readings
	Options    Options
	Further    *Further // nil where no further reading could tell the first two apart
}

// Best is the likeliest candidate.
func (id *Identified) Best() *Candidate { return &id.Candidates[0] }

// From these weights on the words are as strong.
const (
	sureWeight     = 0.95
	likelyWeight   = 0.75
	possibleWeight = 0.05
)

// Verdict says in a word how sure it is: sure, likely or open.
func (id *Identified) Verdict() string {
	switch w := id.Best().Weight; {
	case w >= sureWeight:
		return "sure"
	case w >= likelyWeight:
		return "likely"
	default:
		return "open"
	}
}

// Possible are the candidates that cannot be left out: with a weight of at
// least 5 %.
func (id *Identified) Possible() []Candidate {
	n := slices.IndexFunc(id.Candidates, func(c Candidate) bool { return c.Weight < possibleWeight })
	if n < 0 {
		n = len(id.Candidates)
	}
	return id.Candidates[:n]
}

const (
	chiSquare95 = 3.841458820694124 // 0.95 quantile of χ² with one degree of freedom
	// misfit is the chance below which readings of a family would be as far off
	// as these: then the program's shape is none of them, or a reading is wrong.
	misfit = 1e-3
)

// Identify fits every family and weighs them. It fails if the readings say
// nothing (all at the straight setting, or not to be told from straight), or if
// no family comes near them.
func Identify(r *Readings, o Options) (*Identified, error) {
	if err := o.Check(); err != nil {
		return nil, err
	}
	if err := o.covers(r); err != nil {
		return nil, err
	}
	f := newFitter(r, o)
	if f.allStraight() {
		return nil, r.fail(r.Rows[0].Line, "every reading is at setting %g, where the program is taken to be straight; read at another setting, or say which one is straight", o.StraightAt)
	}
	id := &Identified{Readings: r, Options: o}
	f.weigh()
	for _, family := range Families {
		id.Candidates = append(id.Candidates, f.fit(family))
	}
	slices.SortStableFunc(id.Candidates, func(a, b Candidate) int { return cmp.Compare(a.ChiSquare, b.ChiSquare) })
	shareOut(id.Candidates)
	best := id.Best()
	if f.chiSquare(best.Family, 0)-best.ChiSquare < chiSquare95 {
		return nil, fmt.Errorf("%s: the readings cannot be told from a straight line; read at settings farther from %g, at about half throw", r.File, o.StraightAt)
	}
	if !believable(best.ChiSquare, len(f.rows)-1) {
		return nil, r.fail(best.Worst.Line, "no family of shapes fits the readings; the nearest, %s, makes %.1f %% of this %.1f %%. %s",
			best.Name, 100*(best.Worst.Command+best.WorstOff), 100*best.Worst.Command, misfitRemedy(r, o))
	}
	id.Further = id.further()
	return id, nil
}

// believable says whether readings of the right family could be as far off.
func believable(chiSquare float64, freedom int) bool {
	return (distuv.ChiSquared{K: math.Max(float64(freedom), 1)}).Survival(chiSquare) >= misfit
}

// shareOut turns χ² into weights; the first candidate has the least.
func shareOut(all []Candidate) {
	w := make([]float64, len(all))
	for i := range all {
		w[i] = math.Exp(-(all[i].ChiSquare - all[0].ChiSquare) / 2)
	}
	floats.Scale(1/floats.Sum(w), w)
	for i := range all {
		all[i].Weight = w[i]
	}
}

// fitter holds the readings that tell something, with their variances.
type fitter struct {
	rows      []Reading
	distances []float64 // setting less the straight setting
	variance  []float64
	options   Options
}

func newFitter(r *Readings, o Options) *fitter {
	f := &fitter{rows: r.inside(), options: o}
	for _, row := range f.rows {
		f.distances = append(f.distances, row.Setting-o.StraightAt)
		f.variance = append(f.variance, o.ReadingError*o.ReadingError/3)
	}
	return f
}

func (f *fitter) allStraight() bool {
	return !slices.ContainsFunc(f.distances, func(d float64) bool { return d != 0 })
}

// off returns the command of the family less that of reading i.
func (f *fitter) off(family *Family, scale float64, i int) float64 {
	return family.At(scale*f.distances[i], f.rows[i].Position) - f.rows[i].Command
}

func (f *fitter) chiSquare(family *Family, scale float64) float64 {
	sum := 0.0
	for i, v := range f.variance {
		off := f.off(family, scale, i)
		sum += off * off / v
	}
	return sum
}

// bestScale returns the scale with the least χ².
func (f *fitter) bestScale(family *Family) float64 {
	low, high := family.scales(f.distances)
	return least(func(scale float64) float64 { return f.chiSquare(family, scale) }, low, high)
}

// weigh puts the slope into the variances: that of the family that fits best
// with equal ones, over ± the reading error, which is finite where a power
// shape starts upright.
func (f *fitter) weigh() {
	var best *Family
	scale, lowest := 0.0, math.Inf(1)
	for _, family := range Families {
		s := f.bestScale(family)
		if x := f.chiSquare(family, s); x < lowest {
			best, scale, lowest = family, s, x
		}
	}
	e := f.options.ReadingError
	for i, row := range f.rows {
		a := scale * f.distances[i]
		slope := (best.At(a, row.Position+e) - best.At(a, row.Position-e)) / (2 * e)
		f.variance[i] *= 1 + slope*slope
	}
}

func (f *fitter) fit(family *Family) Candidate {
	c := Candidate{Family: family, Scale: f.bestScale(family), straightAt: f.options.StraightAt}
	c.ChiSquare = f.chiSquare(family, c.Scale)
	c.ScaleLow, c.ScaleHigh = f.interval(family, c.Scale, c.ChiSquare)
	square, farthest := 0.0, -1.0
	for i, row := range f.rows {
		off := f.off(family, c.Scale, i)
		square += off * off
		if z := off * off / f.variance[i]; z > farthest {
			farthest, c.Worst, c.WorstOff = z, row, off
		}
	}
	c.RMS = math.Sqrt(square / float64(len(f.rows)))
	return c
}

// interval returns where χ² is 3.84 above its least, on both sides of the best
// scale, or the end of the family's scales where it is less all the way.
func (f *fitter) interval(family *Family, best, lowest float64) (low, high float64) {
	beyond := func(scale float64) bool { return f.chiSquare(family, scale)-lowest > chiSquare95 }
	first, last := family.scales(f.distances)
	return border(best, first, beyond), border(best, last, beyond)
}

// border bisects for the last place from in towards out that is not beyond.
func border(in, out float64, beyond func(float64) bool) float64 {
	if !beyond(out) {
		return out
	}
	for range 60 {
		if mid := (in + out) / 2; beyond(mid) {
			out = mid
		} else {
			in = mid
		}
	}
	return in
}

// least returns where f is least on [low,high]: the best of an even grid, and
// then of ever finer ones around it.
func least(f func(float64) float64, low, high float64) float64 {
	const pieces = 32
	grid := make([]float64, pieces+1)
	values := make([]float64, pieces+1)
	for tolerance := 1e-8 * (high - low); ; {
		floats.Span(grid, low, high)
		for i, x := range grid {
			values[i] = f(x)
		}
		i := floats.MinIdx(values)
		if high-low <= tolerance {
			return grid[i]
		}
		low, high = grid[max(i-1, 0)], grid[min(i+1, pieces)]
	}
}
