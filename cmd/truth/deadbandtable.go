package main

import (
	"fmt"
	"strings"

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
		if !counts(p) {
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
	b.WriteString("\n")
}
