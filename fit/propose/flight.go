package propose

import (
	"fmt"
	"math"
	"slices"

	"halfstick/curves"
	"halfstick/input"
)

const (
	halfWeightMinutes = 10.0 // of flight that weigh as much as the default
	longestRow        = 0.1  // seconds that one row may stand for
	// leastRow is how far apart, in seconds, rows are that count; those between
	// are passed over. Hands move slower by far.
	leastRow = 0.01

	holdAbove   = 0.5  // |y| of a long hold
	holdRange   = 0.15 // of y over a long hold
	holdSeconds = 5.0

	idleSeconds = 2.0 // inside the deadband for longer is hands off

	leastBandwidth, mostBandwidth = 0.01, 0.1 // of the density estimate, in y
)

// flownRow is one row of a flight phase.
type flownRow struct {
	at, lasts float64 // seconds
	y         float64
	idle      bool // inside the deadband
	left      bool // left out of the demand
}

// flownAxis is what was flown of one axis.
type flownAxis struct {
	rows  []flownRow
	holds []Hold
}

// flown collects the flight phases of an axis from all recordings. The commands
// are those of the response that was active then; where none is known, the
// position by the measured calibration, as a simulator makes it that was told
// the stops and the centre.
func flown(recs []*input.Recording, label string, now curves.Response, opts Options) (flownAxis, error) {
	var all flownAxis
	for i, rec := range recs {
		col, err := rec.Find(label)
		if err != nil {
			continue // this recording is of other axes
		}
		active, err := activeResponse(rec, label, now, opts.FlownWith)
		if err != nil {
			return all, err
		}
		for _, s := range rec.PhaseRanges(input.Flight, label) {
			before := len(all.rows)
			all.rows = appendFlightRows(all.rows, rec, col, s, now, active)
			rows := all.rows[before:]
			if now.Kind == curves.TwoSided {
				all.holds = append(all.holds, markHolds(rows, i, rec.Times.At(0), opts.KeepHolds)...)
			}
			markIdle(rows)
		}
	}
	return all, nil
}

// activeResponse is the response that was active in a recording's flight.
func activeResponse(rec *input.Recording, label string, straight curves.Response, override *curves.Profile) (curves.Response, error) {
	p := override
	if p == nil && len(rec.Header.FlownWith) > 0 {
		var err error
		if p, err = curves.ParseProfile(rec.Header.FlownWith, "flown_with"); err != nil {
			return straight, fmt.Errorf("the recording's flown_with is no profile: %w", err)
		}
	}
	if p != nil {
		if a, err := p.Axis(label); err == nil {
			return a.Response, nil
		}
	}
	straight.Deadband, straight.EndMargin = curves.Sides{}, curves.Sides{}
	straight.Low, straight.High = curves.Straight{}, curves.Straight{}
	return straight, nil
}

// appendFlightRows adds the rows of a flight phase that count. Each is looked for
// as far on as the one before was, so that those between need not be read.
func appendFlightRows(rows []flownRow, rec *input.Recording, col int, s input.Stretch, now, active curves.Response) []flownRow {
	if s.From == s.To {
		return rows
	}
	c := &rec.Columns[col]
	const apart = 900_000 * leastRow // microseconds; rows are sampled a little unevenly
	rows = slices.Grow(rows, min(s.To-s.From, int(1+(rec.Times.At(s.To-1)-rec.Times.At(s.From))/apart)))
	for i, next, step := s.From, 0, 1; i < s.To; i = next {
		if !c.PresentAt(i) {
			next = i + 1
			continue
		}
		at := rec.Times.At(i)
		next = rowFrom(&rec.Times, at+apart, i+1, min(i+step, s.To), s.To)
		step = next - i
		lasts := 0.0
		if next < s.To {
			lasts = math.Min(longestRow, float64(rec.Times.At(next)-at)/1e6)
		}
		counts := float64(c.At(i))
		rows = append(rows, flownRow{
			at: float64(at) / 1e6, lasts: lasts,
			y: active.FromCounts(counts), idle: idle(&now, counts),
		})
	}
	return rows
}

// rowFrom is the first row from least on, before end, that is not before the
// moment us, or end. The nearer guess is to it, the fewer rows are read.
func rowFrom(times *input.Times, us int64, least, guess, end int) int {
	for guess > least && times.At(guess-1) >= us {
		guess--
	}
	for guess < end && times.At(guess) < us {
		guess++
	}
	return guess
}

// markHolds finds the stretches in which a command above holdAbove stays within
// holdRange for longer than holdSeconds, such as the take-off roll, and leaves
// their rows out unless they are kept.
func markHolds(rows []flownRow, recording int, startUS int64, keep bool) []Hold {
	var holds []Hold
	start := float64(startUS) / 1e6
	for from := 0; from < len(rows); {
		to := steadyTo(rows, from)
		if to == from || rows[to-1].at-rows[from].at <= holdSeconds {
			from += 1 + (to-from)/10 // a tenth of a failed run at a time
			continue
		}
		sum := 0.0
		for i := from; i < to; i++ {
			sum += rows[i].y
			rows[i].left = !keep
		}
		holds = append(holds, Hold{
			Recording: recording, From: rows[from].at - start, To: rows[to-1].at - start,
			Command: sum / float64(to-from), Kept: keep,
		})
		from = to
	}
	return holds
}

// steadyTo returns the end of the steady large command that begins at from.
func steadyTo(rows []flownRow, from int) int {
	low, high := rows[from].y, rows[from].y
	for i := from; i < len(rows); i++ {
		y := rows[i].y
		low, high = math.Min(low, y), math.Max(high, y)
		if math.Abs(y) <= holdAbove || high-low > holdRange {
			return i
		}
	}
	return len(rows)
}

// markIdle leaves out the stretches in which the axis stays inside the deadband
// for longer than idleSeconds: hands off, nothing is commanded. Passing through
// the centre counts.
func markIdle(rows []flownRow) {
	for from := 0; from < len(rows); from++ {
		to := from
		for to < len(rows) && rows[to].idle {
			to++
		}
		if to > from && rows[to-1].at-rows[from].at > idleSeconds {
			for i := from; i < to; i++ {
				rows[i].left = true
			}
		}
		from = max(from, to)
	}
}

// idle tells whether counts lie inside the deadband.
func idle(r *curves.Response, counts float64) bool {
	u := r.Position(counts)
	if r.Kind == curves.OneSided {
		return u <= r.Deadband.Low
	}
	return u >= -r.Deadband.Low && u <= r.Deadband.High
}

// side is which commands of an axis are meant.
type side int

const (
	bothTogether side = iota
	lowSide
	highSide
)

// counts returns the seconds for which a row counts in the demand of a side. A
// command of exactly 0 belongs half to each.
func (r flownRow) counts(of side) float64 {
	switch {
	case r.left, of == lowSide && r.y > 0, of == highSide && r.y < 0:
		return 0
	case of != bothTogether && r.y == 0:
		return r.lasts / 2
	}
	return r.lasts
}

// cellOf returns the cell of the demand's grid that the command y lies in.
func cellOf(y float64) int { return min(int(math.Abs(y)*cells), cells-1) }

// histogram returns the seconds in each cell of |y|, and all of them.
func (f flownAxis) histogram(of side) (weight [cells]float64, seconds float64) {
	for _, r := range f.rows {
		lasts := r.counts(of)
		weight[cellOf(r.y)] += lasts
		seconds += lasts
	}
	return weight, seconds
}

// demand estimates the density of |y| over the rows that count for a side and
// shrinks it to the default: m minutes of flight weigh m/(m + 10) (the 10 is a
// choice; no source).
func (f flownAxis) demand(of side, fallback Demand) Demand {
	weight, seconds := f.histogram(of)
	minutes := seconds / 60
	if seconds == 0 {
		fallback.Holds = f.holds
		return fallback
	}
	d := fallback.mix(smoothDensity(weight[:], seconds), minutes/(minutes+halfWeightMinutes))
	d.Minutes, d.Holds = minutes, f.holds
	return d
}

// smoothDensity is the Gaussian kernel estimate on the grid of a histogram of
// [0,1], reflected at both ends.
func smoothDensity(weight []float64, seconds float64) []float64 {
	n := len(weight)
	k := newKernel(bandwidth(weight, seconds), n)
	out := make([]float64, n+1)
	for i, w := range weight {
		if w != 0 {
			k.each(i, func(node int, share float64) { out[node] += w / seconds * share })
		}
	}
	return out
}

// bandwidth is Silverman's (Density Estimation, 1986, eq. 3.31, without the
// quartiles), with one independent command a second (a choice; hands move about
// as fast), kept within limits.
func bandwidth(weight []float64, seconds float64) float64 {
	width := 1 / float64(len(weight))
	var m1, m2 float64
	for i, w := range weight {
		y := (float64(i) + 0.5) * width
		m1 += w * y / seconds
		m2 += w * y * y / seconds
	}
	sd := math.Sqrt(math.Max(0, m2-m1*m1))
	h := 0.9 * sd * math.Pow(math.Max(1, seconds), -0.2)
	return math.Min(math.Max(h, leastBandwidth), mostBandwidth)
}

// kernel is a Gaussian on the grid's nodes about the middle of a cell.
type kernel struct {
	n, reach int
	density  []float64 // at the nodes i−reach … i+reach about cell i
}

func newKernel(h float64, n int) kernel {
	width := 1 / float64(n)
	k := kernel{n: n, reach: int(5 * h / width)}
	for j := -k.reach; j <= k.reach; j++ {
		z := (float64(j) - 0.5) * width / h
		k.density = append(k.density, math.Exp(-z*z/2)/(h*math.Sqrt(2*math.Pi)))
	}
	return k
}

// each gives the nodes that cell i reaches and its density there.
func (k kernel) each(i int, f func(node int, density float64)) {
	for j, d := range k.density {
		node := reflected(i+j-k.reach, k.n)
		if node == 0 || node == k.n {
			d *= 2 // a reflected end point receives only one of its two mirror images
		}
		f(node, d)
	}
}

// reflected folds the grid index j back into 0…n.
func reflected(j, n int) int {
	if j < 0 {
		j = -j
	}
	if j > n {
		j = 2*n - j
	}
	return min(max(j, 0), n)
}
