package main

import (
	"fmt"
	"math"
	"strings"
)

// goal is one line of the table of goals.
type goal struct {
	what, wanted, reached string
	met                   bool
}

func writeGoals(b *strings.Builder, all []outcome) {
	b.WriteString("## Goals\n\n| what | goal | reached | met |\n| --- | --- | --- | --- |\n")
	for _, g := range goals(all) {
		met := "yes"
		if !g.met {
			met = "no"
		}
		fmt.Fprintf(b, "| %s | %s | %s | %s |\n", g.what, g.wanted, g.reached, met)
	}
	b.WriteString("\n")
}

func goals(all []outcome) []goal {
	out := []goal{stepGoal(all), coverageGoal(all)}
	noise := summarise(all, rowNoiseGoal)
	out = append(out, goal{"rest noise, 10 s at rest, σ ≥ 0.3 step, white", "RMS error ≤ 5 %",
		fmt.Sprintf("%.2f %% (%d axes)", noise.rms, noise.n), noise.n > 0 && noise.rms <= 5})
	limit := summarise(all, rowLimitGoal)
	out = append(out, goal{"the same, against the Cramér–Rao limit", "≤ 1.3 times",
		fmt.Sprintf("%.2f times", limit.rms), limit.n > 0 && limit.rms <= 1.3})
	from, to, width := summarise(all, "worn band, from"), summarise(all, "worn band, to"), summarise(all, "worn band, width")
	worst := math.Max(from.median, math.Max(to.median, width.median))
	out = append(out, goal{"worn band, place and width", "median error ≤ 2 % of throw",
		fmt.Sprintf("from %.2f %%, to %.2f %%, width %.2f %% (%d bands)", from.median, to.median, width.median, from.n), from.n > 0 && worst <= 2})
	ratio := summarise(all, "worn band, noise ratio")
	out = append(out, goal{"worn band, noise ratio", "median error within 15 %", fmt.Sprintf("%.1f %%", ratio.median), ratio.n > 0 && ratio.median <= 15})
	reached := fmt.Sprintf("%.1f %%", ratio.within95)
	if ratio.n > 0 {
		reached += fmt.Sprintf("; no estimator could come below %.1f %%, as a band of n reports does not tell its deviation better than by 1/√(2n)", 100*ratioLimit(all))
	}
	out = append(out, goal{"the same, 95 % of the bands", "within 15 %", reached, ratio.n > 0 && ratio.within95 <= 15})
	near := summarise(all, rowGapGoal)
	share, _ := near.coverage()
	out = append(out, goal{"return gap", "error ≤ max(0.5 step, 2 standard errors) in 95 %",
		fmt.Sprintf("%.1f %% (%d gaps)", share, near.intervals), share >= 95})
	out = append(append(out, findingGoals(all)...), promiseGoals(all)...)
	if len(proposals(all)) > 0 {
		out = append(out, proposalGoals(all)...)
	}
	return out
}

// ratioLimit is the share of the ratio within which 95 % of the worn bands would
// be measured at the Cramér–Rao limit: errors are then Gaussian, each band with
// its own standard error.
func ratioLimit(all []outcome) float64 {
	var errors []float64
	for _, o := range all {
		for _, s := range o.samples {
			if s.row == rowRatioLimit {
				errors = append(errors, s.err)
			}
		}
	}
	low, high := 0.0, 10.0
	for range 60 {
		mid, held := (low+high)/2, 0.0
		for _, se := range errors {
			held += math.Erf(mid / se / math.Sqrt2)
		}
		if held < 0.95*float64(len(errors)) {
			low = mid
		} else {
			high = mid
		}
	}
	return high
}

func stepGoal(all []outcome) goal {
	exact := rate{}
	for _, o := range all {
		for _, s := range o.samples {
			if s.row != "step" {
				continue
			}
			exact.of++
			if !s.missing && math.Abs(s.err) < 1e-6 {
				exact.found++
			}
		}
	}
	return goal{"step recovered exactly, at least 20 distinct values", "≥ 99.9 %", exact.String(), exact.of > 0 && exact.percent() >= 99.9}
}

// coverageGoal lists the rows whose coverage is off.
func coverageGoal(all []outcome) goal {
	var off []string
	held := 0
	for _, r := range rows {
		s := summarise(all, r.name)
		if s.intervals == 0 {
			continue
		}
		if s.width == 0 && s.hits == s.intervals {
			held++ // exact, as a whole number can be
			continue
		}
		if p, _ := s.coverage(); offCoverage(s.hits, s.intervals) {
			off = append(off, fmt.Sprintf("%s %.1f %%", r.name, p))
			continue
		}
		held++
	}
	reached := fmt.Sprintf("%d quantities within", held)
	if len(off) > 0 {
		reached += "; outside: " + strings.Join(off, ", ")
	}
	return goal{"coverage of every 95 % interval", "93 to 97 %, less two standard errors of the count", reached, len(off) == 0}
}

func findingGoals(all []outcome) []goal {
	var missed []string
	met := true
	for _, code := range faults {
		d := detect(all, code)
		if d.clear.of > 0 && d.clear.percent() < 98 {
			met = false
			missed = append(missed, fmt.Sprintf("%s %.1f %%", code, d.clear.percent()))
		}
	}
	reached := "all"
	if !met {
		reached = "below: " + strings.Join(missed, ", ")
	}
	alarms := falseAlarms(all)
	return []goal{
		{"clear faults found", "recall ≥ 98 % each", reached, met},
		{"healthy devices", "a false compensate or repair on ≤ 1 %", alarms.String(), alarms.of > 0 && alarms.percent() <= 1},
	}
}

func promiseGoals(all []outcome) []goal {
	m := mannerOf(promises(all), func(promise) bool { return true })
	return []goal{
		{"deadband: false motions in a fresh session", "at most 3 times the promised on ≥ 90 %", m.atMost3.String(), m.atMost3.of > 0 && m.atMost3.percent() >= 90},
		{"the same", "never over 10 times", fmt.Sprintf("over on %v", m.over10), m.over10.of > 0 && m.over10.found == 0},
		{"deadband's width", "≤ 1.3 times the smallest that would have kept the promise, in the median", fmt.Sprintf("%.2f times", m.wider), m.wider > 0 && m.wider <= 1.3},
	}
}
