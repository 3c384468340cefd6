// Package stats holds the numerics that measuring an axis needs and gonum does
// not have: robust scales, running medians and spikes, the Allan deviation,
// spectra, level crossings of noise, tails, the Gaussian behind rounded values,
// effective sample sizes and the intervals built on them.
//
// Data goes in as plain slices of float64, in counts or steps and seconds, and
// comes out as numbers with their intervals; nothing here knows of axes or
// recordings. The package imports gonum only. Each function names its formula
// and its source, and its test the published values it is checked against,
// kept in testdata/reference with their sources.
//
// No function panics on empty or constant data: where a number cannot be given
// it is NaN (or an error, for fits), and the caller must say so.
package stats
