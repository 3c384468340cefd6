package propose

import (
	"halfstick/curves"
	"halfstick/fit/measure"
)

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
	// Sides has the low and the high side of a two-sided axis whose sides are
	// apart, else nothing. Demand, Fits and Chosen are of both sides together
	// all the same; each side takes the chosen family.
	Sides []SideProposal `json:"sides,omitempty"`
	// Jitter of the command, percent of full command, straight against
	// proposed: at rest, at normal deflection, near the stop.
	Jitter []JitterAt `json:"jitter"`
	// ResolutionBefore and ResolutionAfter are the share of the throw that
	// serves the commands of normal flight; the levels are how many noise-free
	// levels lie in that share, 0 where the noise is not known.
	ResolutionBefore float64  `json:"resolution_before"`
	ResolutionAfter  float64  `json:"resolution_after"`
	LevelsBefore     float64  `json:"noise_free_levels_before"`
	LevelsAfter      float64  `json:"noise_free_levels_after"`
	Reasons          []string `json:"reasons"`
}

// SideProposal is what one side of an axis is flown like and gets.
type SideProposal struct {
	Side   string `json:"side"` // low or high
	Demand Demand `json:"demand"`
	Fits   []Fit  `json:"fits"` // as those of the axis
}

// JitterAt compares command jitter at one hand position.
type JitterAt struct {
	Where  string  `json:"where"`
	At     float64 `json:"position"` // u
	Before float64 `json:"before_percent"`
	After  float64 `json:"after_percent"`
}

// DeadbandReasons says how the deadband came about.
type DeadbandReasons struct {
	Low  DeadbandSide `json:"low"`
	High DeadbandSide `json:"high"`
	// FalseMotionsPerMinute is the rate that was accepted.
	FalseMotionsPerMinute float64 `json:"false_motions_per_minute"`
	// Spikes says of spikes that are not counted how many may come that the recording
	// did not show, or why those that it showed are not held back.
	Spikes string `json:"spikes,omitempty"`
}

// DeadbandSide is half-width = where it may rest + excursion.
type DeadbandSide struct {
	HalfWidth      float64 `json:"half_width"`      // u
	Resting        float64 `json:"resting"`         // u
	Excursion      float64 `json:"excursion"`       // u
	ExcursionSigma float64 `json:"excursion_sigma"` // h, in σ
	// FallsShort tells that it would have to be wider, so that the rate is not kept.
	FallsShort bool   `json:"falls_short,omitempty"`
	Says       string `json:"says"`
}
