package measure

import "halfstick/input"

// Quantity is one measured number. Low and High bound a 95 % interval; where
// none can be given both are nil and Method says why.
type Quantity struct {
	Value  float64  `json:"value"`
	Low    *float64 `json:"low,omitempty"`
	High   *float64 `json:"high,omitempty"`
	Unit   string   `json:"unit"`
	N      int      `json:"n"`
	Method string   `json:"method"`
}

// Measurement is what `halfstick measure --json` prints.
type Measurement struct {
	Format    string `json:"format"` // "halfstick measurement 1"
	Recording string `json:"recording"`
	Axes      []Axis `json:"axes"`
	// Sampling and Events are what the recorder noted of its own work: one
	// sampling a recording, none of one that was cut off.
	Sampling []input.Sampling `json:"sampling,omitempty"`
	Events   []input.Event    `json:"events,omitempty"`
}

// Axis holds everything measured about one axis. A nil Quantity could not be
// measured; Notes say what is missing.
type Axis struct {
	Device          string     `json:"device"`
	Label           string     `json:"label"`
	Index           int        `json:"index"`
	Kind            string     `json:"kind"`
	Travel          Travel     `json:"travel"`
	Step            *Quantity  `json:"step"`
	EffectiveBits   *Quantity  `json:"effective_bits"`
	NoiseFreeLevels *Quantity  `json:"noise_free_levels"`
	Rest            Rest       `json:"rest"`
	Return          Return     `json:"return"`
	Sweep           SweepPart  `json:"sweep"`
	Timing          Timing     `json:"timing"`
	Coupling        []Coupling `json:"coupling"`
	Findings        []Finding  `json:"findings"`
	Notes           []string   `json:"notes"`

	// For figures, not for the file.
	Plots Plots `json:"-"`
}

// Travel is where the axis's stops and centre are.
type Travel struct {
	Low       *Quantity `json:"low"`
	High      *Quantity `json:"high"`
	Centre    *Quantity `json:"centre"`
	UsedShare *Quantity `json:"used_share"`
}

// Rest is what the axis does with hands and feet off.
type Rest struct {
	Sigma           *Quantity `json:"sigma"`
	SigmaOrdinary   *Quantity `json:"sigma_ordinary"`
	PeakToPeak      *Quantity `json:"peak_to_peak"`
	DriftPerMinute  *Quantity `json:"drift_per_minute"`
	SpikesPerMinute *Quantity `json:"spikes_per_minute"`
	// DriftOverallPerMinute is that of the whole recording: at rest, at the stops and
	// from release to release.
	DriftOverallPerMinute *Quantity    `json:"drift_overall_per_minute"`
	Correlation           *Quantity    `json:"correlation"`
	Allan                 []AllanPoint `json:"allan,omitempty"`
	Periodic              []Periodic   `json:"periodic,omitempty"`
}

// AllanPoint is one octave of the overlapping Allan deviation of the counts.
type AllanPoint struct {
	TauSeconds float64  `json:"tau_s"`
	Deviation  Quantity `json:"deviation"`
}

// Periodic is a line in the rest noise's spectrum.
type Periodic struct {
	FrequencyHz Quantity `json:"frequency"`
	Amplitude   Quantity `json:"amplitude"`
}

// Return is where the axis comes to rest after it is let go.
type Return struct {
	FromLow  *ReturnSide `json:"from_low"`
	FromHigh *ReturnSide `json:"from_high"`
	Gap      *Quantity   `json:"gap"`
	Sigma    *Quantity   `json:"sigma"` // noise where releases end
}

// ReturnSide sums up the releases from one side.
type ReturnSide struct {
	Mean    *Quantity `json:"mean"`
	Spread  *Quantity `json:"spread"`
	Seconds *Quantity `json:"seconds_to_rest"`

	fall float64 // seconds, see fallTime; 0 if unknown
}

// SweepPart is what slow sweeps show.
type SweepPart struct {
	Hysteresis    *Quantity `json:"hysteresis"`
	Bands         []Band    `json:"bands"`
	Plateaus      []Span    `json:"plateaus"`
	JumpsPerSweep *Quantity `json:"jumps_per_sweep"`
	WornFrom      *Quantity `json:"worn_from,omitempty"`
	WornTo        *Quantity `json:"worn_to,omitempty"`
	WornRatio     *Quantity `json:"worn_ratio,omitempty"`
}

// Span is a stretch of positions u.
type Span struct {
	From float64 `json:"from"`
	To   float64 `json:"to"`
}

// Band is the noise within a stretch of positions u.
type Band struct {
	Span
	Sigma *Quantity `json:"sigma"`
}

// Timing is what the device's reports look like in time.
type Timing struct {
	ReportHz       *Quantity `json:"report_hz"`
	LongestStallMS *Quantity `json:"longest_stall_ms"`
	LostSamples    *Quantity `json:"lost_samples"`
}

// Coupling is how much of this axis's sweep shows up in another.
type Coupling struct {
	With  string   `json:"with"`
	Share Quantity `json:"share"`
}

// Severity orders findings.
type Severity string

// Severities, lightest first.
const (
	Good       Severity = "good"
	Watch      Severity = "watch"
	Compensate Severity = "compensate"
	Repair     Severity = "repair"
)

// Finding is what measurements mean for the person.
type Finding struct {
	Code     string              `json:"code"`
	Severity Severity            `json:"severity"`
	Says     string              `json:"says"`
	Evidence map[string]Quantity `json:"evidence"`
	Advice   string              `json:"advice"`
}

// Plots carries the samples behind the numbers, in counts, for figures and for what
// is worked out of tails.
type Plots struct {
	RestSeconds []float64 // longest rest stretch, time from its start
	RestCounts  []float64
	Returns     []ReleasePlot

	SettledSpikes  []float64 // heights of the spikes in the settled ends of releases
	SettledSeconds float64   // how long those ends are, all together
}

// ReleasePlot is one release: where it ended and its last seconds.
type ReleasePlot struct {
	FromHigh      bool
	Resting       float64 // counts
	SettleSeconds float64
}
