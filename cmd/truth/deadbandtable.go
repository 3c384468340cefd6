package main

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/stat/distuv"

	"halfstick/fit/stats"
	"halfstick/input"
)

// manner sums up how some promises were kept.
type manner struct {
	atMost3, within3, over10  rate // the session's false motions, against the promised
	noiseAtMost3, noiseOver10 rate // those of the noise alone beyond the excursion
	wider, noiseWider         float64
}

func mannerOf(all []promise, counts func(promise) bool) manner {
	var m manner
	var wider, noiseWider []float64
	for _, p := range all {
		if p.none || !counts(p) {
			continue
		}
		m.atMost3.count(p.motions <= 3*p.promised)
		m.within3.count(p.motions <= 3*p.promised && p.motions >= p.promised/3)
		m.over10.count(p.motions > 10*p.promised)
		m.noiseAtMost3.count(p.noise <= 3*p.promised)
		m.noiseOver10.count(p.noise > 10*p.promised)
		wider = append(wider, p.width/p.least)
		noiseWider = append(noiseWider, p.excursion/p.leastNoise)
	}
	if len(wider) > 0 {
		m.wider, m.noiseWider = stats.Quantile7(wider, 0.5), stats.Quantile7(noiseWider, 0.5)
	}
	return m
}

func (r *rate) count(hit bool) {
	r.of++
	if hit {
		r.found++
	}
}

// promiseGroups are the lines of the deadband's table.
var promiseGroups = []struct {
	name   string
	counts func(promise) bool
}{
	{"all", func(promise) bool { return true }},
	{"healthy", func(p promise) bool { return p.made == healthy }},
	{"one clear fault", func(p promise) bool { return p.made != healthy && p.made != mixed }},
	{"whole space", func(p promise) bool { return p.made == mixed }},
	{"rest of 10 s", func(p promise) bool { return p.rested < 20 }},
	{"rest of 30 s", func(p promise) bool { return p.rested >= 20 && p.rested < 60 }},
	{"rest of 120 s", func(p promise) bool { return p.rested >= 60 }},
	{"with spikes", func(p promise) bool { return p.spiky }},
	{"without spikes", func(p promise) bool { return !p.spiky }},
	{"two-sided", func(p promise) bool { return p.kind == input.TwoSided }},
	{"one-sided", func(p promise) bool { return p.kind == input.OneSided }},
}

func promises(all []outcome) []promise {
	var out []promise
	for _, o := range all {
		out = append(out, o.promises...)
	}
	return out
}

func writeDeadbands(b *strings.Builder, all []outcome) {
	b.WriteString(`## Deadband

The promise, 0.1 false motions a minute, over a fresh session of the same device (one device in four has one, as a session takes longer than all the rest): an hour with one release from either side (a one-sided axis at its idle stop), each left at rest for half of it, and every report that the device sends meanwhile. Where it comes to rest, noise and spikes are fresh. Drift goes on from where the centre was measured until it has gone 2 % of half-throw, as far as the deadband reckons with it; for more the proposal says to let it warm up and to set the centre again. A motion is a report outside of the deadband after one inside, or first after a release. "Noise alone" is the excursion part by itself, about the reading that a sensor without noise would give. Wider is the deadband, both sides together, against the smallest that would have kept the promise in that same session, known afterwards; median.

| axes | n | at most 3 times the promised | within a factor of 3 both ways | over 10 times | wider | noise alone: at most 3 times | over 10 times | wider |
| --- | --: | --: | --: | --: | --: | --: | --: | --: |
`)
	list := promises(all)
	for _, g := range promiseGroups {
		m := mannerOf(list, g.counts)
		if m.atMost3.of == 0 {
			continue
		}
		fmt.Fprintf(b, "| %s | %d | %.1f %% | %.1f %% | %.1f %% (%d) | %.2f | %.1f %% | %.1f %% (%d) | %.2f |\n", g.name, m.atMost3.of,
			m.atMost3.percent(), m.within3.percent(), m.over10.percent(), m.over10.found, m.wider,
			m.noiseAtMost3.percent(), m.noiseOver10.percent(), m.noiseOver10.found, m.noiseWider)
	}
	writeBroken(b, list)
}

// writeBroken says what is behind the promises that are broken by far, and that no
// deadband of such recordings keeps them all.
func writeBroken(b *strings.Builder, list []promise) {
	var over, unseen, outside, none rate
	for _, p := range list {
		none.count(p.none)
		if p.none || p.motions <= 10*p.promised {
			continue
		}
		over.count(true)
		unseen.count(p.unseen)
		outside.count(!p.unseen && p.outside)
	}
	fmt.Fprintf(b, `
Of the %d that are broken over 10 times, %d have spikes of which the recording showed none, and %d others came to rest outside of the deadband or drifted out of it. Neither can be had to 0 from such recordings. Spikes that come λ times a minute stay away for T minutes with probability exp(−λT): those of 1 a minute, ten times what was promised, from 10 s of rest and 20 s of releases' ends in %.0f of 100 recordings, and only %.1f minutes without one rule them out with 95 %%; what height to reckon with nobody can say before the first has come. The proposal says how many may have stayed unseen. And of where the next release ends, n releases of a Gaussian law know no more than Student's t of n − 1 degrees of freedom: with five, %.2f standard deviations, √(1 + 1/n) included, hold 97.5 %% on a side, which is reckoned with; %.1f would be for all but one of ten thousand. Of %d axes more the proposal itself says that it does not keep the rate, as a deadband that holds back the spikes, or noise of half of the half-throw, is none that a person can live with; they are not counted.

`, over.found, unseen.found, outside.found,
		100*math.Exp(-0.5), -math.Log(0.05), releaseReach(0.975, 5), releaseReach(0.9999, 5), none.found)
}

// releaseReach is how many standard deviations of n releases from their mean the next
// one stays with a probability, on one side: t·√(1 + 1/n).
func releaseReach(probability float64, n int) float64 {
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: float64(n - 1)}
	return t.Quantile(probability) * math.Sqrt(1+1/float64(n))
}
