package main

import (
	"fmt"
	"math"
	"strings"

	"halfstick/fit/stats"
	"halfstick/input"
)

// proposals are those of all devices.
func proposals(all []outcome) []proposed {
	var out []proposed
	for _, o := range all {
		out = append(out, o.proposals...)
	}
	return out
}

// enough is the share of the possible gain that points promise.
const enough = 0.97

// families are those with a curve to be fitted.
var families = []string{"power", "blend", "points"}

// gains are the shares of the possible gain that one family reached.
func gains(list []proposed, family string) (shares []float64, reached rate) {
	for _, p := range list {
		for _, g := range p.fits {
			if g.family == family && g.possible {
				shares = append(shares, g.share)
				reached.count(g.share >= enough)
			}
		}
	}
	return shares, reached
}

// proposalGroups are the lines of the proposals' tables.
var proposalGroups = []struct {
	name   string
	counts func(proposed) bool
}{
	{"all", func(proposed) bool { return true }},
	{"two-sided", func(p proposed) bool { return p.kind == input.TwoSided }},
	{"one-sided", func(p proposed) bool { return p.kind == input.OneSided }},
	{"flown about the centre", func(p proposed) bool { return p.kind == input.TwoSided && (p.how == "gaussian" || p.how == "corner") }},
	{"with stretches of large command", func(p proposed) bool { return p.kind == input.TwoSided && p.how == "held" }},
	{"trimmed off the centre", func(p proposed) bool { return p.kind == input.TwoSided && p.how == "off-centre" }},
}

// minuteGroups are the lines of the intervals' table.
var minuteGroups = []struct{ from, to float64 }{{5, 10}, {10, 20}, {20, 40}, {40, 80}, {80, math.Inf(1)}}

// intervalsOf sums the intervals of a family up, over flights of from to to
// minutes. An interval that both limits hold is not counted: it cannot miss.
func intervalsOf(list []proposed, family string, from, to float64) (held rate, width float64) {
	var widths []float64
	for _, p := range list {
		if p.minutes < from || p.minutes >= to {
			continue
		}
		for _, g := range p.fits {
			i := g.interval
			if g.family != family || i == nil || i.High-i.Low < 1e-3 {
				continue
			}
			held.count(i.Low-1e-4 <= g.endless && g.endless <= i.High+1e-4)
			widths = append(widths, i.High-i.Low)
		}
	}
	if len(widths) > 0 {
		width = stats.Quantile7(widths, 0.5)
	}
	return held, width
}

// faulty counts proposals that break a limit or are worse than straight, in the
// demand that they were made for and in the flight that goes on; fresh are the
// shares of the possible gain in that flight.
func faulty(list []proposed) (broken, worse, worseOn rate, fresh []float64) {
	for _, p := range list {
		broken.count(len(p.broken) > 0)
		worse.count(p.worse)
		if p.apart || p.chosen == "straight" {
			continue
		}
		worseOn.count(p.worseOn)
		if !math.IsNaN(p.fresh) {
			fresh = append(fresh, p.fresh)
		}
	}
	return broken, worse, worseOn, fresh
}

func proposalGoals(all []outcome) []goal {
	list := proposals(all)
	_, reached := gains(list, "points")
	broken, worse, _, _ := faulty(list)
	var off []string
	intervals := 0
	for _, family := range families[:2] {
		for _, g := range minuteGroups {
			held, _ := intervalsOf(list, family, g.from, g.to)
			if held.of == 0 {
				continue
			}
			intervals += held.of
			if offCoverage(held.found, held.of) {
				off = append(off, fmt.Sprintf("%s, %s %v", family, minutesSay(g.from, g.to), held))
			}
		}
	}
	coverage := fmt.Sprintf("all of %d", intervals)
	if len(off) > 0 {
		coverage = "outside: " + strings.Join(off, "; ")
	}
	return []goal{
		{"proposals: points", "≥ 97 % of the possible gain, wherever something is to be gained", reached.String(), reached.of > 0 && reached.found == reached.of},
		{"limits of the slope", "kept by every family's curve", fmt.Sprintf("broken on %v", broken), broken.of > 0 && broken.found == 0},
		{"proposals worse than the straight line", "none, by their demand", worse.String(), worse.of > 0 && worse.found == 0},
		{"coverage of the 95 % interval of exponent and blend, by minutes flown", "93 to 97 %, less two standard errors of the count", coverage, intervals > 0 && len(off) == 0},
	}
}

func minutesSay(from, to float64) string {
	if math.IsInf(to, 1) {
		return fmt.Sprintf("%.0f min or more", from)
	}
	return fmt.Sprintf("%.0f to %.0f min", from, to)
}

func writeProposals(b *strings.Builder, all []outcome, f flights) {
	list := proposals(all)
	if len(list) == 0 {
		return
	}
	fmt.Fprintf(b, `## Proposals

The axes of one device in %d, as measured, flown for 1 to 120 minutes (even in the logarithm) and proposed for from that flight. Two-sided axes are flown about the centre with commands whose demand is half a Gaussian or half a double exponential (RMS 4 to 50 %% of full), or with nearly a third of the time at a command of 25 to 80 %%, or trimmed 5 to 30 %% off; one-sided ones about a setting of 10 to 80 %%. A command is forgotten, to 1/e, in 0.7 to 8 s. The device is flown straight, with its noise at rest; ten rows a second. The normal deflection is 20 to 80 %%; half of the proposals have the usual limits, the others a largest slope of 1.15 to 8 and a smallest of 0.05 to 0.9; a third of them has its sides apart.

Gain is the share of the possible gain by the demand that the proposal has, worked out from the curve's inverse, where at least %g %% of straight's J is to be gained: median, what 95 %% exceed, least.

| axes | n | power: median | 95 %% exceed | least | blend: median | 95 %% exceed | least | points: median | 95 %% exceed | least | points reach 97 %% |
| --- | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: | --: |
`, f.every, 100*leastGain)
	for _, g := range proposalGroups {
		var of []proposed
		for _, p := range list {
			if g.counts(p) {
				of = append(of, p)
			}
		}
		shares, reached := gains(of, "points")
		if len(shares) == 0 {
			continue
		}
		fmt.Fprintf(b, "| %s | %d |", g.name, len(shares))
		for _, family := range families {
			shares, _ := gains(of, family)
			fmt.Fprintf(b, " %.1f %% | %.1f %% | %.1f %% |", 100*stats.Quantile7(shares, 0.5), 100*stats.Quantile7(shares, 0.05), 100*stats.Quantile7(shares, 0))
		}
		fmt.Fprintf(b, " %v |\n", reached)
	}
	writeFaulty(b, list)
	writeIntervals(b, list, f)
}

func writeFaulty(b *strings.Builder, list []proposed) {
	broken, worse, worseOn, fresh := faulty(list)
	fmt.Fprintf(b, `
Limits: the chords of every family's command, of both sides, over 2000 stretches of the throw, against the largest slope, the smallest at the centre (for power over the first 5 %%), and falling ones: broken on %v axes. Proposals that calm their demand less than straight does: %v.

In flight that goes on for hours as it began, the sides together, a proposed shape is worse than straight on %v; the median gain there is %.1f %% of the possible, and 95 %% of them exceed %.1f %%. What is missing is the family's own, and the default's weight while little was flown.
`, broken, worse, worseOn, 100*stats.Quantile7(fresh, 0.5), 100*stats.Quantile7(fresh, 0.05))
}

func writeIntervals(b *strings.Builder, list []proposed, f flights) {
	fmt.Fprintf(b, `
The 95 %% interval of exponent and blend, against the parameter that %g h of the same flying give at the same weight of the default. Intervals that the limits shrink to a point cannot miss and are not counted.

| minutes of flight | exponent: coverage | median width | blend: coverage | median width |
| --- | --: | --: | --: | --: |
`, f.hours)
	for _, g := range minuteGroups {
		fmt.Fprintf(b, "| %s |", minutesSay(g.from, g.to))
		for _, family := range families[:2] {
			held, width := intervalsOf(list, family, g.from, g.to)
			fmt.Fprintf(b, " %v | %.3f |", held, width)
		}
		b.WriteString("\n")
	}
	b.WriteString("\n")
}
