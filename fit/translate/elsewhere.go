package translate

import (
	"fmt"
	"math"
)

// misfitRemedy says what to do about readings that no family fits.
func misfitRemedy(r *Readings, o Options) string {
	if at, family, ok := straightElsewhere(r, o); ok {
		return fmt.Sprintf("They would fit %s if the program is straight at setting %g; look whether it is, and say so", family.Name, at)
	}
	return "Read it again with the program's deadband off, say which setting is straight, or allow a larger reading error"
}

// elsewhereTried is about how many whole numbers are tried.
const elsewhereTried = 60

// straightElsewhere looks for another straight setting, a whole number not
// farther outside the settings that were read than they are apart, with which a
// family fits. Straight setting and scale are two unknowns, so it takes three
// readings to say anything.
func straightElsewhere(r *Readings, o Options) (at float64, best *Family, ok bool) {
	low, high := math.Inf(1), math.Inf(-1)
	rows := r.inside()
	for _, row := range rows {
		low, high = math.Min(low, row.Setting), math.Max(high, row.Setting)
	}
	width := high - low
	if len(rows) < 3 || width == 0 {
		return 0, nil, false
	}
	lowest := math.Inf(1)
	step := math.Max(1, math.Floor(3*width/elsewhereTried))
	for s := math.Ceil(low - width); s <= high+width; s += step {
		o.StraightAt = s
		f := newFitter(r, o)
		if f.allStraight() {
			continue
		}
		f.weigh()
		for _, family := range Families {
			if x := f.chiSquare(family, f.bestScale(family)); x < lowest {
				lowest, at, best = x, s, family
			}
		}
	}
	return at, best, best != nil && believable(lowest, len(rows)-2)
}
