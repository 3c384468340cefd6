package measure

import (
	"math"
	"sort"

	"halfstick/fit/stats"
	"halfstick/input"
)

// segment is a run of rows of one axis in one phase, without an absence or a
// pause. Times are seconds since the start of the recording.
type segment struct {
	phase   input.Phase
	stretch int       // of the recording it was cut from, counted from 1; 0 for one found in the data
	t       []float64 // of all axes: to be left as it is
	x       []float64 // counts
}

func (s segment) seconds() float64 {
	if len(s.t) < 2 {
		return 0
	}
	return s.t[len(s.t)-1] - s.t[0]
}

// cut is the part of s with from <= t < to.
func (s segment) cut(from, to float64) segment {
	i := sort.SearchFloat64s(s.t, from)
	j := sort.SearchFloat64s(s.t, to)
	if j < i {
		j = i
	}
	return segment{phase: s.phase, stretch: s.stretch, t: s.t[i:j], x: s.x[i:j]}
}

// series is one axis of a recording.
type series struct {
	device   input.Device
	axis     input.Axis
	column   *input.Column
	track    *track
	segments []segment       // in order of time, of this axis's guided phases and of those found
	loose    []input.Stretch // left where they lie: flights, unlabelled rows, phases of other axes
	rowTime  float64         // median time between rows, seconds
	absent   int             // rows without the axis, after its first present row
	rows     int             // rows from its first present row on
	longest  float64         // longest absence, seconds
}

func (s *series) label() string { return s.axis.Label }

// of lists the segments of one phase that count for this axis.
func (s *series) of(kind input.PhaseKind) []segment {
	var out []segment
	for _, g := range s.segments {
		if g.phase.Kind == kind && s.about(g.phase) {
			out = append(out, g)
		}
	}
	return out
}

// about tells whether a phase counts for this axis: it is unlabelled, or labelled
// with it.
func (s *series) about(p input.Phase) bool { return p.Label == "" || p.Label == s.axis.Label }

// newSeries cuts column col of the recording into segments.
func newSeries(k *track, col int) *series {
	rec := k.rec
	c := &rec.Columns[col]
	s := &series{device: rec.Header.Devices[c.Device], column: c, track: k, rowTime: k.rowTime}
	s.axis = s.device.Axes[c.Axis]
	s.countAbsent()
	for i, st := range rec.Stretches {
		if loose(st) || !s.about(st.Phase) {
			s.loose = append(s.loose, st)
			continue
		}
		for from, to := range k.runs(c, st.From, st.To) {
			t := k.guided[i][from-st.From : to-st.From : to-st.From]
			s.segments = append(s.segments, segment{phase: st.Phase, stretch: i + 1, t: t, x: counts(c, from, to)})
		}
	}
	return s
}

func rowTime(rec *input.Recording) float64 {
	n := rec.Rows()
	if n < 2 {
		if rec.Header.RateHz > 0 {
			return 1 / rec.Header.RateHz
		}
		return 0
	}
	// A few thousand differences settle the median of even a long recording.
	stride := 1 + n/5000
	var d []float64
	for i := 1; i < n; i += stride {
		d = append(d, float64(rec.Times.At(i)-rec.Times.At(i-1))*1e-6)
	}
	return stats.Median(d)
}

// countAbsent counts the rows in which the device was gone. Before an axis has
// been moved for the first time, and again where a recording was gone on with,
// its cells are empty without that.
func (s *series) countAbsent() {
	k := s.track
	rows := k.rec.Rows()
	begin := 0
	part := func(end int) {
		last := -1 // the last row with a cell
		for from, to := range s.column.Present(begin, end) {
			switch {
			case last >= 0:
				s.absent += from - last - 1
				s.absentFor(last, from)
			case s.rows == 0:
				s.rows = rows - from
			}
			last = to - 1
		}
		if last >= 0 {
			s.absent += end - last - 1
			if last < end-1 {
				s.absentFor(last, end-1)
			}
		}
		begin = end
	}
	for _, i := range k.goneOnWith() {
		part(i)
	}
	part(rows)
}

// absentFor notes an absence from one row to another.
func (s *series) absentFor(from, to int) {
	times := &s.track.rec.Times
	s.longest = math.Max(s.longest, float64(times.At(to)-times.At(from))*1e-6)
}

// reports thins a segment to one sample per report of the device. Where the
// device reports slower than the recorder sampled, a report stands in one row
// or several; of these the one farthest from the moments at which reports come
// is kept. Where it reports as fast or faster, or no grid of reports is known,
// the rows are the samples.
func (s segment) reports(c clock, rowTime float64) segment {
	if !c.thins(rowTime) || len(s.t) < 2 {
		return s
	}
	if c.comb == nil {
		return s.followed(c.period, rowTime)
	}
	most := min(len(s.t), int(s.seconds()/c.period)+2)
	out := segment{phase: s.phase, stretch: s.stretch, t: make([]float64, 0, most), x: make([]float64, 0, most)}
	last, best := math.Inf(-1), 0.0
	for i, t := range s.t {
		cycles := c.comb.Cycles(t)
		report := math.Floor(cycles)
		off := math.Abs(cycles - report - 0.5)
		n := len(out.t)
		switch {
		case report != last || n == 0:
			out.t, out.x = append(out.t, t), append(out.x, s.x[i])
			last, best = report, off
		case off < best:
			out.t[n-1], out.x[n-1], best = t, s.x[i], off
		}
	}
	return out
}

// followed is reports without a known grid: the clock of the reports is
// followed from change to change.
func (s segment) followed(period, rowTime float64) segment {
	out := segment{phase: s.phase, stretch: s.stretch}
	i, n := 0, len(s.t)
	next := s.t[0] + period
	for i < n {
		// The report that ends before next, read half a period ahead of it.
		j := i
		for j < n && s.t[j] < next-period/2 {
			j++
		}
		if j == n {
			break
		}
		// Reports that came in no row, as the recorder was late, are no samples.
		next += period * math.Max(0, math.Floor((s.t[j]-next)/period+0.5))
		out.t = append(out.t, next-period)
		out.x = append(out.x, s.x[j])
		// The next report is due at next; a change near it sets the clock.
		edge := next
		k := j + 1
		for k < n && s.t[k] < next+period/2 {
			if s.x[k] != s.x[k-1] && s.t[k] > next-period/2 {
				edge += 0.5 * (s.t[k] - rowTime/2 - next)
				break
			}
			k++
		}
		i = j
		next = edge + period
	}
	return out
}

// distinct lists the different counts of an axis, rising.
func distinct(c *input.Column) []int {
	var seen [65536]bool
	for from, to := range c.Present(0, c.Len()) {
		for _, v := range c.Changes(from, to) {
			seen[int(v)+32768] = true
		}
	}
	var out []int
	for v, ok := range seen {
		if ok {
			out = append(out, v-32768)
		}
	}
	return out
}
