// Package text writes measured numbers for people: as many digits as the
// interval bears out, the unit, and the interval itself. The sheet and the
// commands share it, so that a number reads the same wherever it stands.
//
// The number of digits follows JCGM 100:2008 (GUM) 7.2.6: an uncertainty is
// given with at most two significant digits and the value is rounded to match.
// Here the interval's width gets two where its first digit is 1, else one.
package text
