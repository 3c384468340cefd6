// Package curves is the mathematics between where a control is and what the
// simulator is told: shapes, responses, profiles and tables. It imports nothing
// else of this module.
//
// Data passes one way:
//
//	counts → Response.Position → u → deadband, end margin → v → Shape.At → y
//	Profile (one response an axis, a JSON file) → Response.Table → Table → CSV or JSON
//
// u is the position of the control, −1…1 of half-throw on a two-sided axis and
// 0…1 of throw on a one-sided one; y is the command on the same scale; v is the
// stretch between deadband and end margin, 0…1, on which a Shape works.
//
// The response is exactly
//
//	u = (counts − centre)/(high − centre)   at or above centre
//	u = (counts − centre)/(centre − low)    below, clamped to −1…1
//	v = clamp((|u| − d)/(1 − m − d), 0, 1)  d, m: deadband and end margin of u's side
//	y = sign(u)·shape(v)
//
// and on a one-sided axis u = (counts − low)/(high − low), with the deadband at
// the low stop and the end margin at the high one.
//
// The shape through points is the monotone piecewise cubic of F. N. Fritsch and
// J. Butland, "A method for constructing local monotone piecewise cubic
// interpolants", SIAM J. Sci. Stat. Comput. 5 (1984) 300–304: node slopes are
// weighted harmonic means of the neighbouring secants, end slopes come from the
// three-point formula, limited. Three monotone cubics are in common use under
// one name: Fritsch and Butland (1984), often called PCHIP, Fritsch and Carlson
// (1980), and Steffen (1990). This is the first; on the published test data the
// three differ by more than 1e-3, and a test holds them apart. The slopes come
// from gonum's interp.FritschButland.
//
// Breakpoints of a table that lie on the curve are placed best when every piece
// errs equally; see Response.Table.
package curves
