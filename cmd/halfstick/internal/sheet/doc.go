// Package sheet writes the document of a rig: one HTML file that stands alone
// and prints to a page an axis.
//
// Data passes one way: recordings' headers, measurements and a proposal →
// a page of plain strings and figures (page.go and the files beside it) →
// sheet.html. Every number is written by package text, every picture by
// package figures; the template only sets type. html/template escapes the
// names that devices and people give.
//
// The file needs no script and asks for nothing outside itself; its
// Content-Security-Policy forbids both.
package sheet
