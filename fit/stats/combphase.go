package stats

import (
	"iter"
	"math"
	"math/cmplx"
)

// bundle is events so close together that a small change of frequency turns all
// of their phasors alike: it turns their sum as an event at their mean time.
// There is none without an event: what a pause costs must not depend on how long
// it is.
type bundle struct {
	at, n float64 // seconds from the comb's start; events
	sum   complex128
}

// bundles are events summed up at a frequency, of hertz, in order of time.
type bundles struct {
	of   float64
	list []bundle
}

// combBundles is how many of them a stretch has: the scores that settle compares
// are then right to some 1e-3 where it looks farthest, and closer near the top.
const combBundles = 32

// bundles sums up the events at a frequency, length by length.
func (c *Comb) bundles(events iter.Seq[float64], f, length float64) bundles {
	b := bundles{of: f}
	last := math.Inf(-1)
	for at := range events {
		at -= c.start
		if number := math.Floor(at / length); number != last {
			b.list, last = append(b.list, bundle{}), number
		}
		to := &b.list[len(b.list)-1]
		to.at, to.n = to.at+at, to.n+1
		to.sum += cmplx.Rect(1, 2*math.Pi*f*at)
	}
	for i := range b.list {
		b.list[i].at /= b.list[i].n
	}
	return b
}

// joined puts bundles together at another frequency, length by length.
func (b bundles) joined(f, length float64) bundles {
	out := bundles{of: f}
	last := math.Inf(-1)
	for _, one := range b.list {
		if number := math.Floor(one.at / length); number != last {
			out.list, last = append(out.list, bundle{}), number
		}
		to := &out.list[len(out.list)-1]
		to.at = (to.at*to.n + one.at*one.n) / (to.n + one.n)
		to.n += one.n
		to.sum += one.sum * cmplx.Rect(1, 2*math.Pi*(f-b.of)*one.at)
	}
	return out
}

// score is how well events hold to a frequency: the power of their phasors within
// stretches, as a share of what a perfect comb has.
func (b bundles) score(f, length float64) float64 {
	power, all := 0.0, 0.0
	sum, n, end := complex(0, 0), 0.0, math.Inf(-1)
	for _, one := range b.list {
		if one.at >= end {
			power += real(sum)*real(sum) + imag(sum)*imag(sum)
			all += n * n
			sum, n, end = 0, 0, (math.Floor(one.at/length)+1)*length
		}
		sum += one.sum * cmplx.Rect(1, 2*math.Pi*(f-b.of)*one.at)
		n += one.n
	}
	power += real(sum)*real(sum) + imag(sum)*imag(sum)
	all += n * n
	return power / all
}

// best is the frequency about f at which events score best within stretches of a
// length, and that score. The peak of their power is two resolutions, 1/length,
// wide: seven places find it, and a parabola through the best of them its top.
func (b bundles) best(f, length float64) (at, score float64) {
	const reach = 3
	step := 0.2 / length
	var scores [2*reach + 1]float64
	top := 1
	for i := range scores {
		scores[i] = b.score(f+step*float64(i-reach), length)
		if 0 < i && i < 2*reach && scores[i] > scores[top] {
			top = i
		}
	}
	at, score = f+step*float64(top-reach), scores[top]
	if bend := scores[top-1] - 2*score + scores[top+1]; bend < 0 {
		x := at + step*(scores[top-1]-scores[top+1])/(2*bend)
		if s := b.score(x, length); s > score {
			at, score = x, s
		}
	}
	return at, score
}

// phases are by how much the grid of a frequency is late, stretch by stretch of a
// length; a stretch of few events has none. How many cycles pass in a pause longer
// than the grid holds is not known: it parts them.
func (b bundles) phases(f, length, holds float64) []combPhase {
	var out []combPhase
	var last combPhase
	for _, s := range b.joined(f, length).list {
		if s.n < combEvents {
			continue
		}
		p := cmplx.Phase(s.sum) / (2 * math.Pi)
		next := combPhase{at: s.at, late: p - math.Round(p-last.late), n: s.n, part: last.part}
		if len(out) > 0 && next.at-last.at > holds {
			next.part++
		}
		out, last = append(out, next), next
	}
	return out
}

// averaged are the mean phases, block by block of a length.
func averaged(phases []combPhase, length float64) []combPhase {
	return grouped(phases, func(p combPhase) float64 { return math.Floor(p.at / length) })
}

// grouped are the mean phases of those that follow one another, of one part and
// with the same key.
func grouped(phases []combPhase, key func(combPhase) float64) []combPhase {
	var out []combPhase
	last := math.Inf(-1)
	for _, p := range phases {
		if k := key(p); len(out) == 0 || k != last || p.part != out[len(out)-1].part {
			out, last = append(out, combPhase{part: p.part}), k
		}
		to := &out[len(out)-1]
		to.n += p.n
		to.at += (p.at - to.at) * p.n / to.n
		to.late += (p.late - to.late) * p.n / to.n
	}
	return out
}

// slopeOf is the slope of phases against time, the same in all parts, hertz, and
// half of its 95 % interval; false where there are too few. Where the grid wanders,
// what is left of the phases goes on from one to the next: fewer of them count, and
// the frequency from end to end is not the slope.
func slopeOf(phases []combPhase) (slope, half float64, ok bool) {
	parts := grouped(phases, func(combPhase) float64 { return 0 })
	var sxx, sxy, rss float64
	for _, p := range phases {
		m := parts[p.part]
		sxx += p.n * (p.at - m.at) * (p.at - m.at)
		sxy += p.n * (p.at - m.at) * (p.late - m.late)
	}
	n := float64(len(phases))
	free := n - float64(len(parts)) - 1
	if free < 1 || sxx == 0 {
		return 0, 0, false
	}
	slope = sxy / sxx
	left := make([]float64, len(phases))
	for i, p := range phases {
		m := parts[p.part]
		left[i] = p.late - m.late - slope*(p.at-m.at)
		rss += p.n * left[i] * left[i]
	}
	deviation := math.Sqrt(rss / free / sxx)
	if Lag1(left) <= 2/math.Sqrt(n) { // no more than chance
		return slope, tQuantile(0.975, free) * deviation, true
	}
	independent, _ := EffectiveN(left)
	half = tQuantile(0.975, math.Max(1, free*independent/n)) * deviation * math.Sqrt(n/independent)
	last := len(phases) - 1
	return slope, math.Hypot(half, (left[last]-left[0])/(phases[last].at-phases[0].at)), true
}
