package propose

import (
	"halfstick/curves"
	"halfstick/fit/measure"
)

// Options are a person's choices. The zero value is not valid; see Defaults.
type Options struct {
	Normal       float64         // normal deflection, share of half-throw (0.5)
	Shape        string          // power, blend, points; "" lets the tool choose
	MaxSlope     float64         // largest slope dy/du (3)
	MinSlope     float64         // smallest slope at centre (0.2)
	FalseMotions float64         // accepted per minute (0.1)
	FlownWith    *curves.Profile // overrides the recording's own flown_with
}

// Proposal is a suggested response for every axis, with what it does.
type Proposal struct {
	Axes []AxisProposal `json:"axes"`
}

// AxisProposal is one axis's suggested response and its effect.
type AxisProposal struct {
	Measured *measure.Axis      `json:"-"`
	Profile  curves.ProfileAxis `json:"profile"`
	Demand   Demand             `json:"demand"`
	Deadband DeadbandReasons    `json:"deadband"`
	Fits     []Fit              `json:"fits"` // straight, power, blend, points, bound
	Chosen   string             `json:"chosen"`
	// Jitter of the command, percent of full command, straight against proposed.
	Jitter           []JitterAt `json:"jitter"`            // at rest, at normal deflection, near the stop
	ResolutionBefore float64    `json:"resolution_before"` // share of throw that serves normal flight's commands
	ResolutionAfter  float64    `json:"resolution_after"`
	Reasons          []string   `json:"reasons"`
}

// JitterAt compares command jitter at one hand position.
type JitterAt struct {
	Where  string  `json:"where"`
	At     float64 `json:"position"` // u
	Before float64 `json:"before_percent"`
	After  float64 `json:"after_percent"`
}

// Fit is one family's best shape under the limits.
type Fit struct {
	Family      string       `json:"family"`
	Parameter   float64      `json:"parameter"`
	Shape       curves.Shape `json:"-"`
	Gain        float64      `json:"share_of_possible_gain"`
	CentreSlope float64      `json:"centre_slope"`
	MaxSlope    float64      `json:"largest_slope"`
	Jitter      float64      `json:"jitter"` // sqrt(J/σ²): RMS slope over demand
}

// DeadbandReasons says how a side's half-width came about, in u.
type DeadbandReasons struct {
	Low, High             DeadbandSide
	FalseMotionsPerMinute float64
}

// DeadbandSide is half-width = where it may rest + excursion.
type DeadbandSide struct {
	HalfWidth, Resting, Excursion float64 // u
	ExcursionSigma                float64 // h, in σ
	Says                          string
}

// Demand is how often each command is needed in normal flight.
type Demand struct {
	Source  string    `json:"source"` // "default" or "flight"
	Minutes float64   `json:"minutes"`
	Y       []float64 `json:"-"` // grid on [0,1]
	P       []float64 `json:"-"` // density on the grid, integrates to 1
	SigmaY  float64   `json:"sigma_y"`
}

// API:
//
//	Defaults() Options
//	Axes(recs []*input.Recording, ms []*measure.Measurement, opts Options) (*Proposal, error)
//	(*Proposal).Profile() *curves.Profile
//	DefaultDemand(normal float64) Demand
//	Bound(d Demand, maxSlope, minSlope float64) (bound Fit with Shape=points on a fine grid)
//	Replay(rec *input.Recording, p *curves.Profile) (*Replayed, error)   before/after commands and jitter of every axis
