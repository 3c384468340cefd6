// Package translate finds out what the one unlabelled number of a program does
// to an axis, and which whole number brings that program nearest to a proposed
// response. It is for programs that take no table.
//
// Data passes one way:
//
//	CSV of noted readings → Read → Readings → Identify → Identified → Nearest
//
// A reading is a setting of the program, a position of the control on one side
// of its throw and the command that came out, noted with the program's own
// deadband and end margin off. Every family of shapes here has one parameter a,
// 0 for straight and above 0 for finer around the centre; the program's number
// is taken to be proportional to it,
//
//	a = scale · (setting − straight_at),
//
// so that one unknown, the scale, is fitted for each family.
//
// # The fit
//
// Position and command are each known to ± the reading error e, evenly spread
// (rounding to whole percents is e = 0.5 %), which has the variance e²/3
// (JCGM 100:2008, 4.3.7). A wrong position moves the command by the slope, so a
// reading's variance is (1 + slope²)·e²/3: the effective variance of J. Orear,
// "Least squares when both variables have uncertainties", Am. J. Phys. 50 (1982)
// 912. The slope is that of the family that fits best without weights, the same
// for all families, so that no family gains by being steep. The scale of each
// family is where χ² = Σ residual²/variance is least; its 95 % interval is where
// χ² is less than 3.84 above that (the likelihood ratio). Errors are taken to be
// independent from reading to reading, as they are where the control is moved in
// between.
//
// # How sure
//
// All families have one unknown, so the penalty of an information criterion is
// the same for all, and the Akaike weights are exp(−χ²/2) divided by their sum
// (H. Akaike, "A new look at the statistical model identification", IEEE Trans.
// Automatic Control 19 (1974) 716; the weights after K. P. Burnham and
// D. R. Anderson, Model Selection and Multimodel Inference, 2nd ed. 2002).
// They say how the families share the belief if one of them is the program's;
// that none is, χ² itself shows.
//
// # The nearest setting
//
// Nearest means: with the least largest difference from the proposal anywhere
// in the throw. At each position every family rises or falls all the way with
// its parameter, so this largest difference falls and then rises with the
// setting, and the best whole number is found by halving.
//
// The citations above are from memory; what they stand for is checked by
// simulation in the tests.
package translate
