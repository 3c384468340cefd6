package measure

import (
	"fmt"
	"math"
	"sort"

	"halfstick/input"
)

// caution stands where a finding advises opening a device.
const caution = " Desktop simulation only; unplug the device before opening it, springs are under load."

// weight orders findings of one severity by what matters most in flight.
var weight = []string{
	"dead-side-high", "dead-side-low", "dropouts", "stalls", "poor-return-low", "poor-return-high",
	"worn-band", "spikes", "plateau", "drift", "rest-noise", "coupling", "short-travel-high",
	"short-travel-low", "off-centre", "hidden-by-system", "coarse-step", "too-little-data", "steady",
}

var rank = map[Severity]int{Repair: 0, Compensate: 1, Watch: 2, Good: 3}

// findings turns the measurements into findings, weightiest first.
func (a *analysis) findings() {
	for _, f := range []func() []Finding{
		a.findRestNoise, a.findSpikes, a.findDrift, a.findOffCentre, a.findReturns, a.findTravel,
		a.findWorn, a.findPlateaus, a.findStep, a.findStalls, a.findDropouts, a.findCoupling,
		a.findHidden, a.findTooLittle,
	} {
		a.out.Findings = append(a.out.Findings, f()...)
	}
	a.out.Findings = append(a.out.Findings, a.findSteady()...)
	a.undecided()
	place := map[string]int{}
	for i, code := range weight {
		place[code] = i
	}
	sort.SliceStable(a.out.Findings, func(i, j int) bool {
		x, y := a.out.Findings[i], a.out.Findings[j]
		if rank[x.Severity] != rank[y.Severity] {
			return rank[x.Severity] < rank[y.Severity]
		}
		return place[x.Code] < place[y.Code]
	})
}

// finding makes a list of one, or none where there is nothing to find.
func finding(code string, s Severity, says, advice string, evidence map[string]*Quantity) []Finding {
	if s == "" {
		return nil
	}
	f := Finding{Code: code, Severity: s, Says: says, Advice: advice, Evidence: map[string]Quantity{}}
	for name, q := range evidence {
		if q != nil {
			f.Evidence[name] = *q
		}
	}
	return []Finding{f}
}

// share is counts as a percentage of the smaller half-throw.
func (a *analysis) share(counts float64) float64 {
	return 100 * math.Abs(counts) / math.Min(a.halfThrow(true), a.halfThrow(false))
}

// ofThrow names what share is a percentage of.
func (a *analysis) ofThrow() string {
	if a.oneSided() {
		return "of throw"
	}
	return "of half-throw"
}

func (a *analysis) findRestNoise() []Finding {
	q := a.out.Rest.Sigma
	if q == nil {
		return nil
	}
	wide := a.share(6.6 * q.Value)
	s := limits["rest-noise"].grade(wide)
	advice := map[Severity]string{
		Watch:      "Hardly felt; a small deadband keeps it out at rest.",
		Compensate: "A deadband keeps it out at rest, but away from centre it passes through with the slope of the response. If it grew lately, clean the plug and the sensor.",
		Repair:     "A deadband wide enough would cost too much control. Inspect the plug, the cable and the sensor's track, and clean or replace the sensor." + caution,
	}
	return finding("rest-noise", s, fmt.Sprintf("At rest the reading jitters with σ %s, so that nearly all of it lies in a band %.2g %% %s wide.",
		show(q), wide, a.ofThrow()), advice[s], map[string]*Quantity{"sigma": q, "peak_to_peak": a.out.Rest.PeakToPeak})
}

func (a *analysis) findSpikes() []Finding {
	q := a.out.Rest.SpikesPerMinute
	if q == nil || q.Value == 0 {
		return nil
	}
	l := limits["spikes"]
	s := l.grade(q.Value)
	if s == Repair && (a.watch.spikes < leastSpikes || q.lower() < l.watch/2) {
		s = Watch // seen, but too few to say how often
	}
	advice := map[Severity]string{
		Watch:  "Each is a short kick of the control. Record a longer rest to see how often they come.",
		Repair: "Each is a short kick of the control, and neither deadband nor shape holds it back once the control is deflected. Inspect plug, cable and the sensor's track for a loose contact." + caution,
	}
	return finding("spikes", s, fmt.Sprintf("Single readings jump far off their neighbours %s times a minute.", show(q)), advice[s],
		map[string]*Quantity{"spikes_per_minute": q})
}

func (a *analysis) findDrift() []Finding {
	q := a.out.Rest.DriftPerMinute
	if q == nil || !significant(q) {
		return nil
	}
	near := a.share(math.Min(math.Abs(*q.Low), math.Abs(*q.High)))
	s := limits["drift"].grade(near)
	advice := map[Severity]string{
		Watch:      "Often warming up: let the device run for ten minutes, then measure again.",
		Compensate: "Let the device warm up before calibrating; a wider deadband covers what is left for some minutes.",
		Repair:     "No deadband holds this for a flight. Inspect the supply at the port and the sensor's mounting." + caution,
	}
	return finding("drift", s, fmt.Sprintf("Untouched, the reading creeps by %s, which is %.2g %% %s each minute.", show(q), a.share(q.Value), a.ofThrow()),
		advice[s], map[string]*Quantity{"drift_per_minute": q})
}

func (a *analysis) findOffCentre() []Finding {
	q := a.out.Travel.Centre
	if q == nil || a.oneSided() {
		return nil
	}
	// A drift is a finding of its own: what it did since the recording began is
	// not held against the centre.
	at, since := q.Value, ""
	if d := a.out.Rest.DriftPerMinute; significant(d) {
		moved := d.Value * a.centreTime / 60
		at -= moved
		since = fmt.Sprintf(", the drift of %+.0f counts since the recording began taken off", moved)
	}
	off := 100 * math.Abs(at) / 32767
	s := limits["off-centre"].grade(off)
	return finding("off-centre", s, fmt.Sprintf("The centre is at %s, %.2g %% of the range away from count 0%s.", show(q), off, since),
		"In flight an uncalibrated program holds a small command all the time. The proposed calibration sets the centre where it is.",
		map[string]*Quantity{"centre": q})
}

func (a *analysis) findReturns() []Finding {
	r := a.out.Return
	c := a.out.Travel.Centre
	if r.FromLow == nil || r.FromHigh == nil || c == nil {
		return nil
	}
	var out []Finding
	for i, side := range []*ReturnSide{r.FromLow, r.FromHigh} {
		short := c.Value - side.Mean.Value
		if i == 1 {
			short = -short
		}
		out = append(out, a.findReturn(i, side, short)...)
	}
	return out
}

func (a *analysis) findReturn(i int, side *ReturnSide, short float64) []Finding {
	// Beyond the centre it lies on the other side, and is a share of that.
	half, where := a.halfThrow(i == 1), "short of"
	if short < 0 {
		half, where, short = a.halfThrow(i == 0), "beyond", -short
	}
	// Scatter is as bad as a steady offset: a deadband must hold both.
	bad := 100 * math.Max(short, 2*side.Spread.Value) / half
	s := limits["poor-return"].grade(bad)
	if short < 2*a.step && 2*side.Spread.Value < 2*a.step {
		s = "" // within the sensor's own steps
	}
	name := sideName(i)
	advice := map[Severity]string{
		Watch:      "A small deadband on this side covers it.",
		Compensate: "A wider deadband on this side keeps a false command away, at the cost of a larger free movement. To mend it, inspect this side's spring and the linkage for friction." + caution,
		Repair:     "A deadband that wide costs too much control. Inspect this side's spring for a lost hook or fatigue and the linkage for friction." + caution,
	}
	return finding("poor-return-"+name, s, fmt.Sprintf("Let go from the %s side it stops %.2g %% of half-throw (%.0f counts) %s the centre, scattering by %.2g %% (%d releases).",
		name, 100*short/half, short, where, 100*side.Spread.Value/half, side.Mean.N), advice[s],
		map[string]*Quantity{"mean": side.Mean, "spread": side.Spread, "gap": a.out.Return.Gap, "centre": a.out.Travel.Centre})
}

// findTravel compares each stop with the end of the scale. A one-sided axis
// has one throw: what it lacks is reported on the side where it is lost.
func (a *analysis) findTravel() []Finding {
	if a.out.Travel.Low == nil || a.out.Travel.High == nil {
		return nil
	}
	var out []Finding
	for i, stop := range []*Quantity{a.out.Travel.Low, a.out.Travel.High} {
		out = append(out, a.findSide(i, a.unused(i, stop.Value))...)
	}
	return out
}

func (a *analysis) findSide(i int, lost float64) []Finding {
	name := sideName(i)
	stop := []*Quantity{a.out.Travel.Low, a.out.Travel.High}[i]
	if stop.Low == nil {
		return nil // reached once: it may be where a sweep broke off
	}
	evidence := map[string]*Quantity{"stop": stop, "used_share": a.out.Travel.UsedShare}
	if s := limits["dead-side"].grade(lost); s != "" {
		return finding("dead-side-"+name, s, fmt.Sprintf("The %s side is nearly dead: pushed to its stop the reading ends at %s, %.0f %% of that side's range unused.", name, show(stop), lost),
			"Full command could be reached only by stretching a few steps, so that noise becomes jerks. Inspect the linkage between control and sensor, the plug and the cable."+caution, evidence)
	}
	s := limits["short-travel"].grade(lost)
	advice := "Calibration gives full command at the stop that is there; the steps in the command grow in proportion. If it was better once, inspect the linkage and its stop."
	if s == Compensate {
		advice += caution
	}
	return finding("short-travel-"+name, s, fmt.Sprintf("The %s stop is at %s, %.0f %% of that side's range unused.", name, show(stop), lost), advice, evidence)
}

func (a *analysis) findWorn() []Finding {
	w := a.out.Sweep
	if w.WornRatio == nil {
		return nil
	}
	if a.share(6.6*a.wornSigma) < limits["rest-noise"].watch {
		return nil // many times a noise that nobody would notice at rest either
	}
	l := limits["worn-band"]
	s := Severity("")
	inside := w.WornFrom.Value < normalDeflection && w.WornTo.Value > -normalDeflection
	switch {
	case w.WornRatio.Value >= l.repair && w.WornRatio.lower() >= l.watch && inside:
		s = Repair
	case w.WornRatio.Value >= l.compensate && w.WornRatio.lower() >= l.watch:
		s = Compensate
	case w.WornRatio.Value >= l.watch:
		s = Watch
	}
	where := "outside normal deflection, so it is met only in large movements; a shape with a small slope there helps a little"
	if inside {
		where = "inside normal deflection, where no deadband reaches; a smaller slope there lessens it but does not mend it"
	}
	advice := "The sensor is noisier there than elsewhere, " + where + ". Clean the sensor's track or replace the sensor." + caution
	return finding("worn-band", s, fmt.Sprintf("Between %.0f and %.0f %% %s the reading is %.1f times as noisy as elsewhere.", 100*w.WornFrom.Value, 100*w.WornTo.Value, a.ofThrow(), w.WornRatio.Value),
		advice, map[string]*Quantity{"worn_from": w.WornFrom, "worn_to": w.WornTo, "worn_ratio": w.WornRatio})
}

func (a *analysis) findPlateaus() []Finding {
	l := limits["plateau"]
	worst, s := Span{}, Severity("")
	for _, p := range a.out.Sweep.Plateaus {
		if p.To-p.From < worst.To-worst.From {
			continue
		}
		worst = p
		s = l.grade(100 * (p.To - p.From))
		if s == Repair && (p.From > normalDeflection || p.To < -normalDeflection) {
			s = Compensate
		}
	}
	return finding("plateau", s, fmt.Sprintf("Around %.0f %% the reading stands still while the control moves on by some %.1f %% %s.",
		50*(worst.From+worst.To), 100*(worst.To-worst.From), a.ofThrow()),
		"A dead zone away from the centre: corrections there come late and then all at once. Inspect the linkage for play and the sensor's track for a worn spot."+caution, nil)
}

func (a *analysis) findStep() []Finding {
	q := a.out.Step
	if q == nil || !a.hasTravel {
		return nil
	}
	share := a.share(q.Value)
	return finding("coarse-step", limits["coarse-step"].grade(share),
		fmt.Sprintf("The sensor moves in steps of %s, %.2g %% %s each (%.1f bits over the whole scale).", show(q), share, a.ofThrow(), a.out.EffectiveBits.Value),
		"The command moves in steps too; a response with a smaller slope around the centre makes them finer there and coarser towards the stops.",
		map[string]*Quantity{"step": q, "effective_bits": a.out.EffectiveBits})
}

func (a *analysis) findStalls() []Finding {
	q := a.out.Timing.LongestStallMS
	if q == nil || q.Value < 5000*a.clock.period {
		return nil
	}
	s := limits["stalls"].grade(q.Value)
	return finding("stalls", s, fmt.Sprintf("For %s the device sent nothing although the control moved.", show(q)),
		"The aircraft answers late and then jumps. Try another port without a hub, another cable, and turn off the port's power saving.",
		map[string]*Quantity{"longest_stall_ms": q, "report_hz": a.out.Timing.ReportHz})
}

func (a *analysis) findDropouts() []Finding {
	q := a.out.Timing.LostSamples
	if q == nil || q.Value == 0 {
		return nil
	}
	s := limits["dropouts"].grade(math.Max(1, 1000*a.series.longest))
	return finding("dropouts", s, fmt.Sprintf("The device was gone for %.0f samples, at longest for %.0f ms.", q.Value, 1000*a.series.longest),
		"While it is gone the simulator holds the last command or centres it. Inspect the cable and the plug, try another port, and leave out hubs.",
		map[string]*Quantity{"lost_samples": q})
}

func (a *analysis) findCoupling() []Finding {
	var worst *Coupling
	for i, c := range a.out.Coupling {
		if significant(&c.Share) && (worst == nil || math.Abs(c.Share.Value) > math.Abs(worst.Share.Value)) {
			worst = &a.out.Coupling[i]
		}
	}
	if worst == nil {
		return nil
	}
	near := math.Min(math.Abs(*worst.Share.Low), math.Abs(*worst.Share.High))
	s := limits["coupling"].grade(near)
	advice := "Each movement of one axis commands a little of the other; watch for a hand that moves both. If it stays with care, inspect the linkage."
	if s == Repair {
		advice = "Each movement of one axis commands the other. Inspect the linkage, the plug and the cable for a bridge between two sensors." + caution
	}
	return finding("coupling", s, fmt.Sprintf("Sweeping %s moves %s by %s of its travel.", a.out.Label, worst.With, show(&worst.Share)), advice,
		map[string]*Quantity{"share": &worst.Share})
}

// findHidden tells what the operating system keeps from every program.
func (a *analysis) findHidden() []Finding {
	f := a.series.axis.OSFilter
	if f == nil || (f.Fuzz <= 0 && f.Flat <= 0) {
		return nil
	}
	per := "units of the device"
	counts := 1.0
	if ax := a.series.axis; ax.RawMin != nil && ax.RawMax != nil && *ax.RawMax > *ax.RawMin {
		counts = fullSpan / float64(*ax.RawMax-*ax.RawMin)
		per = "counts"
	}
	evidence := map[string]*Quantity{
		"fuzz": bare(float64(f.Fuzz)*counts, per, 1, "the system's noise filter, as the recording's header gives it; no interval: a setting"),
		"flat": bare(float64(f.Flat)*counts, per, 1, "the system's flat around the centre, as the recording's header gives it; no interval: a setting"),
	}
	advice := "Record again with leave to lift the filter for the length of the recording (the user needs access to the event device)."
	switch f.Left {
	case "":
	case input.LeftAsked:
		advice = "Record again without --keep-system-filter, which lifts it for the length of the recording."
	default:
		advice = "It could not be lifted for the recording: " + f.Left + "."
	}
	return finding("hidden-by-system", Watch, fmt.Sprintf("The operating system hides movements of up to %.0f %s and a flat of %.0f %s around the centre, so the numbers for noise, step and return are not the sensor's.",
		evidence["fuzz"].Value, per, evidence["flat"].Value, per),
		advice, evidence)
}

// findSteady says that nothing stands in the way, where that was looked at.
func (a *analysis) findSteady() []Finding {
	if a.out.Rest.Sigma == nil || !a.hasTravel || len(a.looseStops()) > 0 {
		return nil
	}
	for _, f := range a.out.Findings {
		if f.Severity == Compensate || f.Severity == Repair {
			return nil
		}
	}
	evidence := map[string]*Quantity{"sigma": a.out.Rest.Sigma, "used_share": a.out.Travel.UsedShare}
	says := fmt.Sprintf("The axis is steady: at rest σ %s, %.0f %% of the scale used", show(a.out.Rest.Sigma), a.out.Travel.UsedShare.Value)
	if g := a.out.Return.Gap; g != nil {
		evidence["gap"] = g
		says += fmt.Sprintf(", return gap %s", show(g))
	}
	return finding("steady", Good, says+".", "Nothing to mend; a response may follow taste.", evidence)
}
