// Package propose turns measurements and flown demand into the response that
// calms normal flight most, and says what it does and what it costs.
//
// Data passes one way: measurements (fit/measure) give calibration, deadband
// and end margin; the recordings' flight phases, or a default, give the demand;
// the demand gives the shape; the three together are a response (curves), whose
// effect on the noise is then worked out, and replayed over a recording.
//
// # The shape
//
// Let p(y) be the demand, the density of the commands |y| of normal flight, and
// u = g(y) the hand's position for the command y. Noise σ in u becomes σ/g′(y)
// in the command, so the mean square command jitter is
//
//	J = σ² ∫ p(y)/g′(y)² dy,   ∫ g′ dy = 1.
//
// Without further limits the best g′ is proportional to p^(1/3) and
// J/σ² = (∫ p^(1/3))³: Panter and Dite, "Quantization distortion in pulse-count
// modulation with nonuniform spacing of levels", Proc. IRE 39 (1951) 44, after
// Bennett, Bell System Technical Journal 27 (1948) 446.
//
// With a largest slope s and a smallest slope m of the response, and slopes
// that rise outward (g′ does not rise), the best is
//
//	g′(y) = min(max(κ·q(y)^(1/3), 1/s), 1/m),   κ from ∫ g′ = 1,
//
// where q is the non-rising function nearest to p in least squares. It is
// found by pooling adjacent violators: for a block of equal g′ the stationary
// point of ∫ (p/g′² + λg′) over it depends on p through the block's mean only,
// so the blocks do not depend on λ, and clipping a solution to limits solves
// the limited problem (Barlow, Bartholomew, Bremner and Brunk, Statistical
// Inference under Order Restrictions, 1972). For a p that falls from the centre
// outward, as the default does, q = p. Nothing under the same limits does
// better: that is the bound, and every shape states its share of the possible
// gain, (J_straight − J)/(J_straight − J_bound).
//
// A power shape with an exponent above 1 has slope 0 at the centre itself. Its
// smallest slope is therefore taken as the mean slope over the first 5 % of the
// shaped throw, and slopes below the limit count as the limit in J, for every
// family: a dead centre earns nothing. With that count no shape, whether it
// keeps the limit at the centre or not, comes below the bound.
//
// J takes σ as the same everywhere, although the sweep measures it along the
// throw. Weighted by that noise the best blend of the demo's sound axes moves by
// 0.015 at most, and 0.04 % of RMS jitter is gained; that of its worn rudder goes
// from 0.49 to 0.71, and 13 % is gained. It is left out all the same: it would
// bend the response around a fault that asks for repair and that wanders as the
// track wears, it makes the best response depend on the position as well as on
// the command, so that the bound above is none, and a window's σ is known to a
// tenth or so only. What the worn band does to the command is stated with the
// jitter and by the replay.
//
// How far flight that happened to be flown fixes the exponent or the share of
// the blend is found by resampling its seconds in blocks (stationary bootstrap;
// Politis and Romano 1994, after Künsch 1989), the default's weight held. J is
// linear in the demand, so a resample costs a sum. The sides of an axis can be
// taken apart: each then has its own demand, limits and shape of one family.
//
// # The deadband
//
// Half-width of a side = where the axis may come to rest on that side + the
// excursion that the noise makes as often as the person accepts, in u:
//
//   - at rest: the farther of the mean returns from both sides with its scatter
//     (97.5 % prediction limit of the next release, Student's t, both sides'
//     spreads together unless they differ), and the drift of an hour towards
//     that side as far as its interval allows, at most 2 % of half-throw
//     (choices; no source);
//   - excursion: h·σ, h from the exits of a Gaussian sequence with the measured
//     lag-1 correlation at the measured report rate (Owen 1956; see
//     stats.ExcursionForRate), and half a sensor step for the rounding, a step
//     at least;
//   - where the recorded rest left h·σ more often than chance allows, the level
//     of a generalised Pareto tail through the peaks (stats.PeaksOverThreshold).
//
// Nothing is cut off where the sum is more than a person can live with: it is
// said, with the advice to repair.
package propose
