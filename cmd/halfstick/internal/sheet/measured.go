package sheet

import (
	"slices"
	"strings"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/fit/measure"
)

// row is one quantity in the table of measurements. Number is its method's
// place in the sheet's list of methods.
type row struct {
	Name, Gloss, Value, Interval, Unit string
	N, Number                          int
	Method                             string
}

// measured sets an axis's quantities as a table, in groups of what belongs
// together, adds their methods to the page's list, and names the quantities
// that could not be measured.
func (p *sheetPage) measured(a *measure.Axis) (groups [][]row, missing string) {
	var absent []string
	var last text.Part
	for _, r := range text.Quantities(a) {
		if !text.Measured(r.Quantity) {
			absent = append(absent, r.Name)
			continue
		}
		if r.Part != last {
			groups, last = append(groups, nil), r.Part
		}
		at := len(groups) - 1
		groups[at] = append(groups[at], row{
			Name: r.Name, Gloss: r.Gloss,
			Value: text.Bare(r.Quantity), Interval: text.Interval(r.Quantity), Unit: text.Unit(r.Quantity.Unit),
			N: r.Quantity.N, Number: p.methodNumber(r.Quantity.Method), Method: r.Quantity.Method,
		})
	}
	return groups, strings.Join(absent, "; ")
}

// methodNumber is a method's place in the list of methods, 0 for none. Axes
// share the list: most of their numbers are got the same way.
func (p *sheetPage) methodNumber(method string) int {
	if method == "" {
		return 0
	}
	if at := slices.Index(p.Methods, method); at >= 0 {
		return at + 1
	}
	p.Methods = append(p.Methods, method)
	return len(p.Methods)
}
