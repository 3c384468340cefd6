package measure

import (
	"math"
	"math/rand/v2"
	"testing"

	"halfstick/input"
)

// part is a stretch of a synthetic recording: what one axis's sensor sees,
// in steps of its converter, at t seconds from the part's start.
type part struct {
	phase   input.Phase
	seconds float64
	at      func(t float64) float64
}

// device is a synthetic one-axis device.
type device struct {
	kind     input.Kind
	bits     int
	reportHz float64
	rateHz   float64
	sigma    float64 // steps
	rho      float64
	noise    func(code float64) float64 // factor on sigma; nil: 1
	raw      bool                       // the header gives the code range
	seed     uint64
}

func usual() device {
	return device{kind: input.TwoSided, bits: 12, reportHz: 125, rateHz: 500, sigma: 1.5, seed: 1}
}

func (d device) most() float64 { return float64(int(1)<<d.bits - 1) }

// scale is SDL's scaling of a code to counts.
func (d device) scale(code float64) int16 {
	return int16(math.Floor(code*65535/d.most() - 32768 + 0.5))
}

// record makes the recording: reports at their own rate, rows at another.
func (d device) record(parts ...part) *input.Recording {
	rng := rand.New(rand.NewPCG(d.seed, 77))
	axis := input.Axis{Label: "axis", Kind: d.kind}
	if d.raw {
		low, high := 0, int(d.most())
		axis.RawMin, axis.RawMax = &low, &high
	}
	rec := &input.Recording{Header: input.Header{RateHz: d.rateHz, Devices: []input.Device{{ID: "dev", Axes: []input.Axis{axis}}}}}
	col := input.Column{}
	w := rng.NormFloat64()
	now := int16(0)
	next, offset := 0.0, 0.0
	row := 0
	for _, p := range parts {
		from := row
		for ; float64(row)/d.rateHz < offset+p.seconds-1e-9; row++ {
			t := float64(row) / d.rateHz
			for t >= next-1e-9 {
				w = d.rho*w + math.Sqrt(1-d.rho*d.rho)*rng.NormFloat64()
				code := p.at(next - offset)
				s := d.sigma
				if d.noise != nil {
					s *= d.noise(code)
				}
				now = d.scale(math.Min(d.most(), math.Max(0, math.Round(code+s*w))))
				next += 1 / d.reportHz
			}
			rec.Times.Append(int64(math.Round(t * 1e6)))
			col.Append(now, true)
		}
		offset += p.seconds
		rec.Stretches = append(rec.Stretches, input.Stretch{Phase: p.phase, From: from, To: row})
	}
	rec.Columns = []input.Column{col}
	return rec
}

func (d device) measure(t testing.TB, parts ...part) *Axis {
	t.Helper()
	m, err := Recording(d.record(parts...), "synthetic")
	if err != nil {
		t.Fatal(err)
	}
	return &m.Axes[0]
}

func still(code float64) func(float64) float64 { return func(float64) float64 { return code } }

func resting(seconds, code float64) part {
	return part{phase: input.Phase{Kind: input.Rest}, seconds: seconds, at: still(code)}
}

func pause(seconds, code float64) part { return part{seconds: seconds, at: still(code)} }

// sweeping goes from low to high and back, with 8 % of the time at each stop.
func sweeping(low, high, there float64, passes int) part {
	return part{phase: input.Phase{Kind: input.Sweep, Label: "axis"}, seconds: 2 * there * float64(passes),
		at: func(t float64) float64 {
			share := math.Mod(t, 2*there) / there
			if share > 1 {
				share = 2 - share
			}
			return low + (high-low)*math.Min(1, math.Max(0, share*1.08-0.04))
		}}
}

// releasing holds at a stop for half a second and falls back in a tenth.
func releasing(kind input.PhaseKind, stop, rest float64) part {
	return part{phase: input.Phase{Kind: kind, Label: "axis"}, seconds: 3,
		at: func(t float64) float64 {
			if t < 0.5 {
				return stop
			}
			return rest + (stop-rest)*math.Exp(-(t-0.5)/0.05)
		}}
}

// whole is a full recording of a healthy two-sided axis.
func (d device) whole() []part {
	m := d.most()
	low, high, mid := 0.03*m, 0.97*m, 0.5*m
	parts := []part{pause(0.5, mid), sweeping(low, high, 4, 3), pause(0.5, mid), resting(20, mid)}
	for range 3 {
		parts = append(parts, pause(0.3, mid), releasing(input.ReleaseLow, low, mid),
			pause(0.3, mid), releasing(input.ReleaseHigh, high, mid))
	}
	return parts
}

func has(q *Quantity, truth float64) bool {
	return q != nil && q.Low != nil && *q.Low <= truth && truth <= *q.High
}

func code(a *Axis, c string) *Finding {
	for i := range a.Findings {
		if a.Findings[i].Code == c {
			return &a.Findings[i]
		}
	}
	return nil
}

// newScatter gives standard Gaussian numbers.
func newScatter(seed uint64) func() float64 {
	return rand.New(rand.NewPCG(seed, 99)).NormFloat64
}

// edit replaces the rows of a recording by what change makes of them; where it
// says no the row goes. The stretches stay.
func edit(rec *input.Recording, change func(i int, row *input.Row) (keep bool)) {
	var times input.Times
	columns := make([]input.Column, len(rec.Columns))
	for c, col := range rec.Columns {
		columns[c] = input.Column{Device: col.Device, Axis: col.Axis}
	}
	i := 0
	rec.Each(func(row input.Row) error {
		if change(i, &row) {
			times.Append(row.AtUS)
			for c := range columns {
				columns[c].Append(row.Counts[c], row.Present[c])
			}
		}
		i++
		return nil
	})
	rec.Times, rec.Columns = times, columns
}
