package measure

import (
	"math"
	"strings"
)

// limit is where a finding begins, by severity. Infinity means that this
// severity does not occur.
type limit struct {
	watch, compensate, repair float64
	unit, why                 string
}

var never = math.Inf(1)

// limits is the one table of thresholds. Shares are percent of the half-throw
// (one-sided: of the throw) unless the unit says otherwise.
var limits = map[string]limit{
	"rest-noise": {0.5, 1.0, 8, "6.6 σ, % of half-throw",
		"below 0.5 % the noise stays within a hundredth of normal deflection; at 1 % a deadband is needed to keep it out; at 8 % the deadband eats a sixth of normal deflection; common practice, no source"},
	"spikes": {0.5, never, 1, "1/min; for repair at least two came, and the lower end of the interval is half of watch or more",
		"no deadband or shape holds back a spike when the control is deflected; one a minute is felt on every approach; common practice, no source"},
	"drift": {0.3, 1, 5, "% of half-throw per minute, nearer end of the interval",
		"1 % a minute crosses a usual deadband within one approach; common practice, no source"},
	"off-centre": {2, 5, never, "% of 32,767 counts from count 0",
		"a program that is not told otherwise takes count 0 for the centre; 5 % is more than a usual deadband; common practice, no source"},
	"poor-return": {1, 2, 8, "% of half-throw between centre and mean return",
		"a centring of 1 % goes unnoticed, 2 % is as wide as a usual deadband, 8 % is a held turn; common practice, no source"},
	"short-travel": {8, 15, never, "% of the range on that side not reached",
		"calibration gives full command at the stop that is there, at the price of resolution; common practice, no source"},
	"dead-side": {never, never, 75, "% of the range on that side not reached",
		"with less than a quarter of the range left, noise and steps are four times as large in the command; common practice, no source"},
	"worn-band": {1.5, 2, 2, "times the noise of the median band, where the band is at least as noisy as rest-noise asks for watch; repair within normal deflection, compensate outside",
		"twice the noise doubles the command jitter there, where no deadband reaches; common practice, no source"},
	"plateau": {0.5, 1.5, 1.5, "% of half-throw; repair within normal deflection, compensate outside",
		"a stretch without response is a dead zone away from centre; common practice, no source"},
	"coarse-step": {0.15, 0.6, never, "step, % of half-throw",
		"0.15 % is about one step of a 10-bit sensor over half its range, 0.6 % of an 8-bit one; common practice, no source"},
	"stalls": {60, never, 150, "ms, and 5 report intervals",
		"150 ms is about the delay of a hand-flown loop's whole reserve at a crossover of some 3 rad/s; common practice, no source"},
	"dropouts": {1, never, 100, "ms without the device",
		"a device that vanishes for a tenth of a second was unplugged by its cable or port; common practice, no source"},
	"coupling": {3, never, 15, "% of the other axis's travel",
		"hands move a second axis by a few percent; more is linkage or wiring; common practice, no source"},
}

// least are the amounts of data below which a measurement is thin.
var least = struct {
	restSeconds            float64
	releases, ways, visits int
	stop                   float64
}{
	restSeconds: 8, // gives σ within some 5 % at 60 independent reports a second
	releases:    leastReleases,
	ways:        4,    // there and back twice, as the recording's format asks
	visits:      3,    // to a stop, to speak of a mean as of that of three releases
	stop:        0.02, // of the half-throw either way: so much of full command goes unnoticed at a stop (common practice, no source)
}

// normalDeflection is the half-throw share within which nearly all of normal
// flight is flown; common practice, no source.
const normalDeflection = 0.5

// grade is the severity of v, "" below watch.
func (l limit) grade(v float64) Severity {
	switch {
	case v >= l.repair:
		return Repair
	case v >= l.compensate:
		return Compensate
	case v >= l.watch:
		return Watch
	}
	return ""
}

// ActingThreshold is where the finding with a code first asks for something, of
// severity compensate, or repair where it knows no compensate, in the unit of
// the table. Sides share a threshold: poor-return-low has that of poor-return.
// It is infinite for a code that is not in the table.
func ActingThreshold(code string) float64 {
	code = strings.TrimSuffix(strings.TrimSuffix(code, "-low"), "-high")
	l, ok := limits[code]
	if !ok {
		return never
	}
	return math.Min(l.compensate, l.repair)
}
