// Package bench is the live page: it samples the rig, leads through a
// recording, shows what was measured, lets a hand shape the responses and try
// them, and hands over the tables.
//
// Data passes one way:
//
//	rig → sampler → hub → live stream → page
//	recording → analysis (measure, propose, effects) → parts of the sheet, figures, numbers → page
//	page → POST → session (candidates, undo, kept in a file) → page
//
// There is no mathematics in the page: it gets lines in the units of the
// figures they lie on, places of marks and handles, and words. What it sends
// back is a handle and a place, or a field and a text.
//
// # Safety
//
// The bench listens on the loopback address unless told otherwise, and a
// browser is let in by a token alone, which becomes a cookie. Requests that
// name another host are refused, and so are changes that do not come from the
// page itself; see guard. The page loads nothing from elsewhere and runs
// nothing but its own files, and the names that devices give themselves are
// text on it, never markup.
package bench
