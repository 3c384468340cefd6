// Package figures draws what was measured and what is proposed: curves side by
// side, rest noise, returns, noise along the throw, and replayed commands.
//
// Data passes one way: values from fit and curves → a Figure (size, a text for
// people who cannot see it, and a drawing) → SVG or PNG. Drawing is
// gonum.org/v1/plot; this package adds one theme, direct labels and the
// passage from plot's SVG to one whose colours follow the page it stands in.
//
// # Colours
//
// The palette is that of Masataka Okabe and Kei Ito, "Color Universal Design:
// how to make figures and presentations that are friendly to colorblind
// people" (2002, revised 2008), whose colours stay apart for all common kinds
// of colour vision. Lines differ in dash as well, so that a print without
// colour still tells them apart.
//
// # SVG
//
// Every colour is written twice: as a presentation attribute, which any
// program understands, and as a class (stroke-ink, fill-blue, …), which a
// style sheet may override. A file carries a style sheet of its own with
// colours for a dark screen; Inline leaves it out, because the page that holds
// the figure brings Style along once for all its figures.
package figures
