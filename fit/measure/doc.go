// Package measure turns a recording into numbers about each axis, each with a
// unit, a 95 % interval and how it was got, and the numbers into findings: what
// they mean for the person who flies, with their evidence and what to do.
//
// Data passes one way: rows of a recording become a series per axis, cut into
// segments by phase (series.go); the device's own report interval comes from
// the times of change (timing.go) and the sensor's step from the lattice of
// distinct counts (step.go); with these, segments become reports, one sample
// per report that the device really sent. From them come travel (travel.go),
// rest (rest.go), return (returns.go), what sweeps show (sweep.go, on what
// residuals.go, ways.go and withoutdrift.go prepare; worn.go, plateau.go)
// and coupling (coupling.go); last the findings (findings.go), whose
// thresholds stand in one table (thresholds.go).
//
// The mathematics:
//
//   - Step: each count is a lattice point rounded to a whole number. The
//     feasible spacings are those that put every distinct count within half a
//     count of the lattice; see findLattice.
//   - Rest noise: spikes by the Hampel identifier (Hampel 1974), drift as a
//     straight line, then Qn (Rousseeuw and Croux 1993) where the step is fine
//     against the noise, Sheppard's correction where it is not, and maximum
//     likelihood on the rounded Gaussian below about a step (the variance of a
//     rounded Gaussian depends on where the mean lies between two codes;
//     Wannamaker et al. 2000, IEEE TSP 48:499).
//   - Intervals of σ use the chi-squared law with the number of independent
//     reports, not of rows: repeated rows are dropped first, and correlation
//     reduces what is left.
//   - Noise along the throw: residuals to a running quadratic fit over
//     0.12 s, each divided by √(1−leverage) so that a fit through few points
//     does not pass for quiet; Savitzky and Golay (1964) for uneven times.
//   - A worn band is the stretch of positions whose noise differs most, by
//     the likelihood ratio of two Gaussian variances; its ends' intervals
//     follow from the profile of the same likelihood.
//   - Hysteresis is ascending minus descending reading at one position, dead
//     band not subtracted (43 CFR 3175.135 sense).
//
// Everything is deterministic: the same recording gives the same numbers.
package measure
