package main

import (
	"fmt"
	"io"
	"strings"
	"time"
)

// Rows that only serve goals.
const (
	rowGapGoal   = "gap goal"
	rowNoiseGoal = "noise goal"
	rowLimitGoal = "limit goal"
	rowRateBound = "report rate, lower bound"

	rowRatioLimit = "worn ratio limit" // standard error, a share of the ratio
)

// rows are the quantities of the table with the unit of their errors.
var rows = []struct{ name, unit string }{
	{"step", "% of step"}, {"effective bits", "bits"},
	{"low stop", "% half-throw"}, {"high stop", "% half-throw"}, {"used share", "% of scale"},
	{"centre", "% half-throw"},
	{"rest noise, white", "% of σ"}, {"rest noise, correlated", "% of σ"}, {"rest noise, σ < 0.3 step", "% of σ"},
	{"rest noise, ordinary", "% of σ"}, {"noise-free levels", "% of levels"},
	{"correlation", "1"}, {"drift", "% half-throw/min"}, {"drift over all", "% half-throw/min"}, {"spikes", "1/min"}, {"spikes, none there", "1/min"},
	{"return", "% half-throw"}, {"return spread", "% half-throw"}, {"return gap", "% half-throw"},
	{"hysteresis", "% half-throw"}, {"noise along the throw", "% of σ"},
	{"worn band, from", "% of throw"}, {"worn band, to", "% of throw"}, {"worn band, width", "% of throw"},
	{"worn band, noise ratio", "% of ratio"}, {"plateau width", "% half-throw"}, {"jumps", "1/sweep"},
	{"report rate", "% of rate"}, {"longest stall", "ms"}, {"lost samples", "samples"}, {"coupling", "% of travel"},
}

// report writes the whole report as Markdown.
func report(w io.Writer, all []outcome, s series, date time.Time) error {
	b := &strings.Builder{}
	fmt.Fprintf(b, `# Measured against the truth

%d simulated devices, seed %d, %s. Written by `+"`make truth`"+`; the same seed gives the same numbers.

Two of five devices are healthy (within half of every threshold), two of five have one clear fault (twice its threshold or more), one of five is drawn from the whole space: 8 to 16 bits, noise up to 20 steps (at most 2 %% of the converter's range), correlation to 0.98, drift, spikes, play, a soft spring on either side, dead or short sides, a worn band anywhere (1.5 to 10 times, 3 to 20 %% of throw), stuck stretches, jumps, dropouts, stalls, coupling; 60 to 1000 reports a second sampled at 250 to 1000 Hz; rests of 10, 30 or 120 s, two or three sweeps of 2 to 4 s each way, three to five releases a side.

`, len(all), s.seed, date.UTC().Format("2006-01-02"))
	writeGoals(b, all)
	writeQuantities(b, all)
	writeDeadbands(b, all)
	writeProposals(b, all, s.flights)
	writeFindings(b, all)
	writeConfusion(b, all)
	_, err := io.WriteString(w, b.String())
	return err
}

func writeQuantities(b *strings.Builder, all []outcome) {
	b.WriteString(`## Quantities

Errors are measured minus true, in the unit given. Coverage is the share of 95 % intervals that hold the truth, ± its own standard error, out of that many intervals. Positions are compared at the mean time at which the rig was there, drift included.

| quantity | unit | n | missing | bias | RMS error | median error | coverage | intervals | median width |
| --- | --- | --: | --: | --: | --: | --: | --: | --: | --: |
`)
	for _, r := range rows {
		s := summarise(all, r.name)
		if s.n == 0 {
			continue
		}
		cover, width := "–", "–"
		if s.intervals > 0 {
			p, se := s.coverage()
			cover, width = fmt.Sprintf("%.1f ± %.1f %%", p, se), fmt.Sprintf("%.3g", s.width)
		}
		fmt.Fprintf(b, "| %s | %s | %d | %d | %.2g | %.3g | %.3g | %s | %d | %s |\n",
			r.name, r.unit, s.n, s.missing, s.bias, s.rms, s.median, cover, s.intervals, width)
	}
	if s := summarise(all, rowRateBound); s.intervals > 0 {
		fmt.Fprintf(b, "\nWhere the device reports about as fast as it was sampled or faster, only a lower bound of its rate is given: %d times, right in %d.\n", s.intervals, s.hits)
	}
	b.WriteString("\nNot compared, for want of a truth: peak-to-peak (it grows with time), Allan deviation and periodic lines (held against published tables elsewhere), seconds to rest.\n\n")
}

func (r rate) String() string {
	if r.of == 0 {
		return "–"
	}
	return fmt.Sprintf("%.1f %% (%d of %d)", r.percent(), r.found, r.of)
}

func writeFindings(b *strings.Builder, all []outcome) {
	fmt.Fprintf(b, `## Findings

Found means with severity compensate or repair, on the axis that has the fault. Clear faults are at least twice the threshold; sound axes are within half of it, whatever else is wrong with them. Spikes are clear where %g or more are expected in the time that the axis stands still, and where they are typically %g times what counts as one (6 σ and 2.5 steps); a drift is clear where it is %g standard errors above its threshold, at the Cramér–Rao limit of that part of the rest in which it reads on the converter's scale (below half a step that of the rounded Gaussian, its σ unknown); a poor return is clear on a side that is not dead itself, as releases show where they end but not where between them the spring is slack, and of the few counts of a dead side that makes any share; a plateau is clear on a side that is not dead itself, where it is wider than 6 σ of the noise that is there, of which a worn band has more, and where %d ways or more from stop to stop are whole, as a hand may pause twice in one place; a stall is one that fell into a way of that axis's own sweeps; a worn band is clear where its sweeps hold evidence for it of %g in the logarithm of a likelihood ratio, were the motion known and rounding but noise, and where it is louder than the motion between reports at uneven times: of others, either answer is right.

| finding | recall on clear faults | found with any severity | false on healthy axes | false on sound axes of all devices |
| --- | --: | --: | --: | --: |
`, expectedSpikes, clearSpike, clearDrift, leastWays, clearWorn)
	for _, code := range faults {
		d := detect(all, code)
		fmt.Fprintf(b, "| %s | %v | %v | %v | %v |\n", code, d.clear, d.clearAny, d.healthy, d.sound)
	}
	fmt.Fprintf(b, "\nHealthy devices with at least one false compensate or repair: %v.\n\n", falseAlarms(all))
}

// mistakes lists, a line each, the clear faults that were missed and the findings
// that act where the axis is sound, by the number of the device.
func mistakes(all []outcome) string {
	var b strings.Builder
	for i, o := range all {
		for k, v := range o.axes {
			for _, code := range faults {
				switch times := v.causes[code]; {
				case times >= clearFault && !v.acting[code]:
					fmt.Fprintf(&b, "device %d (%s), axis %d: %s missed, %.2g times its threshold\n", i, o.made, k+1, code, times)
				case times <= soundShare && v.acting[code]:
					fmt.Fprintf(&b, "device %d (%s), axis %d: %s is a false alarm, %.2g times its threshold\n", i, o.made, k+1, code, times)
				}
			}
		}
	}
	return b.String()
}

func writeConfusion(b *strings.Builder, all []outcome) {
	b.WriteString(`## Confusion

Devices made with one clear fault (rows): on how many percent of them each finding (columns) has severity compensate or repair on the axis with the fault. Off the diagonal only findings count in whose respect the axis is sound. Empty is 0.

| fault | devices |`)
	for i := range faults {
		fmt.Fprintf(b, " %d |", i+1)
	}
	b.WriteString("\n| --- | --: |" + strings.Repeat(" --: |", len(faults)) + "\n")
	for i, made := range faults {
		fmt.Fprintf(b, "| %d %s | %d |", i+1, made, confusion(all, made, made).of)
		for _, code := range faults {
			r := confusion(all, made, code)
			if r.found == 0 {
				b.WriteString(" |")
				continue
			}
			fmt.Fprintf(b, " %.0f |", r.percent())
		}
		b.WriteString("\n")
	}
}
