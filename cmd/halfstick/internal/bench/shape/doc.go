// Package shape is what a hand does to a response on the page: fields that take
// a number, handles that lie on the curve and are dragged or nudged, and the
// lines to draw. The page knows none of the mathematics; it sends a handle and
// a place, or a field and a text, and gets a response and its drawing back.
//
// Data passes one way: response + change → response → fields, handles, lines.
//
// A response that comes out of a change is always one that its Check accepts:
// what goes too far is held at the nearest value that is possible.
package shape
