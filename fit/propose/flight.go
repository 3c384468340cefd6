package propose

import (
	"fmt"
	"math"
	"slices"
	"sort"

	"halfstick/curves"
	"halfstick/input"
)

const (
	longestRowUS = 100_000 // microseconds that one row may stand for
	// leastRowUS is how far apart, in microseconds, rows are that count; those
	// between are passed over. Hands move slower by far.
	leastRowUS = 10_000

	holdAbove   = 0.5  // |y| of a long hold
	holdRange   = 0.15 // of y over a long hold
	holdSeconds = 5.0

	idleSeconds = 2.0 // inside the deadband for longer is hands off
)

// flights are the flight phases of recordings.
type flights struct {
	recs []*input.Recording
	// always has the rows of each phase that count of an axis that was there all
	// the time, as most are.
	always map[flightPhase][]flightRow
}

type flightPhase struct {
	recording int // index of the recording
	input.Stretch
}

// flightRow is a row of a flight phase that counts.
type flightRow struct {
	row     int32 // of the recording
	lastsUS int32 // microseconds that it stands for
}

func flightsOf(recs []*input.Recording) flights {
	f := flights{recs: recs, always: map[flightPhase][]flightRow{}}
	var there input.Column // of an axis that was there in every row
	for i, rec := range recs {
		for _, s := range rec.PhaseRanges(input.Flight, "") {
			f.always[flightPhase{i, s}] = rowsThatCount(&rec.Times, &there, s)
		}
	}
	return f
}

// flownAxis is what was flown of one axis.
type flownAxis struct {
	parts []flownPart
	holds []Hold
}

// flownPart is a flight phase of one axis.
type flownPart struct {
	times  *input.Times
	rows   []flightRow
	counts []int16 // one a row
	active *curves.Compiled
	left   []span // left out of the demand, by where they begin
}

// span is the rows of a part from one up to another.
type span struct{ from, to int }

// at is the moment of a row, in seconds.
func (p *flownPart) at(i int) float64 { return float64(p.times.At(int(p.rows[i].row))) / 1e6 }

// command is that of a row.
func (p *flownPart) command(i int) float64 { return p.active.Command(p.counts[i]) }

// of collects the flight phases of an axis from all recordings. The commands
// are those of the response that was active then; where none is known, the
// position by the measured calibration, as a simulator makes it that was told
// the stops and the centre.
func (f flights) of(label string, now curves.Response, opts Options) (flownAxis, error) {
	var all flownAxis
	low, high := idleCounts(&now)
	for i, rec := range f.recs {
		col, err := rec.Find(label)
		if err != nil {
			continue // this recording is of other axes
		}
		active, err := activeResponse(rec, label, now, opts.FlownWith)
		if err != nil {
			return all, err
		}
		phases := rec.PhaseRanges(input.Flight, label)
		if len(phases) == 0 {
			continue
		}
		commands := active.Compile()
		for _, s := range phases {
			p := f.part(flightPhase{i, s}, &rec.Columns[col])
			p.active = commands
			if now.Kind == curves.TwoSided {
				all.holds = append(all.holds, p.markHolds(i, opts.KeepHolds)...)
			}
			p.markIdle(low, high)
			all.parts = append(all.parts, p)
		}
	}
	return all, nil
}

// part is the rows of a phase that count of an axis.
func (f flights) part(phase flightPhase, c *input.Column) flownPart {
	p := flownPart{times: &f.recs[phase.recording].Times, rows: f.always[phase]}
	if !c.Always() {
		p.rows = rowsThatCount(p.times, c, phase.Stretch)
	}
	p.counts = make([]int16, len(p.rows))
	for i, r := range p.rows {
		p.counts[i] = c.At(int(r.row))
	}
	return p
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

// rowsThatCount are the rows of a flight phase that count of the axis of a column.
// Each is looked for as far on as the one before was, so that those between need
// not be read.
func rowsThatCount(times *input.Times, c *input.Column, s input.Stretch) []flightRow {
	if s.From == s.To {
		return nil
	}
	const apart = leastRowUS * 9 / 10 // rows are sampled a little unevenly
	rows := make([]flightRow, 0, min(s.To-s.From, int(1+(times.At(s.To-1)-times.At(s.From))/apart)))
	for i, next, step := s.From, 0, 1; i < s.To; i = next {
		if !c.PresentAt(i) {
			next = i + 1
			continue
		}
		at := times.At(i)
		next = rowFrom(times, at+apart, i+1, min(i+step, s.To), s.To)
		step = next - i
		lasts := int64(0)
		if next < s.To {
			lasts = min(longestRowUS, times.At(next)-at)
		}
		rows = append(rows, flightRow{int32(i), int32(lasts)})
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
// them out unless they are kept.
func (p *flownPart) markHolds(recording int, keep bool) []Hold {
	var holds []Hold
	start := float64(p.times.At(0)) / 1e6
	for from := 0; from < len(p.rows); {
		to := p.steadyTo(from)
		if to == from || p.at(to-1)-p.at(from) <= holdSeconds {
			from += 1 + (to-from)/10 // a tenth of a failed run at a time
			continue
		}
		sum := 0.0
		for i := from; i < to; i++ {
			sum += p.command(i)
		}
		if !keep {
			p.left = append(p.left, span{from, to})
		}
		holds = append(holds, Hold{
			Recording: recording, From: p.at(from) - start, To: p.at(to-1) - start,
			Command: sum / float64(to-from), Kept: keep,
		})
		from = to
	}
	return holds
}

// steadyTo returns the end of the steady large command that begins at from.
func (p *flownPart) steadyTo(from int) int {
	low, high := p.command(from), p.command(from)
	for i := from; i < len(p.rows); i++ {
		y := p.command(i)
		low, high = min(low, y), max(high, y)
		if math.Abs(y) <= holdAbove || high-low > holdRange {
			return i
		}
	}
	return len(p.rows)
}

// markIdle leaves out the stretches in which the axis stays inside the deadband,
// which is so many counts, for longer than idleSeconds: hands off, nothing is
// commanded. Passing through the centre counts.
func (p *flownPart) markIdle(low, high int) {
	for from := 0; from < len(p.rows); from++ {
		to := from
		for to < len(p.rows) && int(p.counts[to]) >= low && int(p.counts[to]) <= high {
			to++
		}
		if to > from && p.at(to-1)-p.at(from) > idleSeconds {
			p.left = append(p.left, span{from, to})
		}
		from = max(from, to)
	}
	slices.SortFunc(p.left, func(a, b span) int { return a.from - b.from })
}

// idleCounts are the counts inside the deadband, from the lowest to the highest.
func idleCounts(r *curves.Response) (low, high int) {
	const counts = 1 << 16
	u := func(i int) float64 { return r.Position(float64(i + math.MinInt16)) }
	from, to := -r.Deadband.Low, r.Deadband.High
	if r.Kind == curves.OneSided {
		from, to = 0, r.Deadband.Low // an idle stop has nothing below
	}
	low = sort.Search(counts, func(i int) bool { return u(i) >= from })
	high = sort.Search(counts, func(i int) bool { return u(i) > to }) - 1
	return low + math.MinInt16, high + math.MinInt16
}
