package translate

import "math"

// Further is the reading that would tell the two likeliest families apart best.
type Further struct {
	Setting       int
	Position      float64 // share of the throw
	First, Second float64 // the command that each of the two expects, shares
	// Beyond says that the setting lies outside those that were read, and that
	// it is not known whether the program takes it.
	Beyond bool
}

// furtherPositions is how finely positions are tried: every 5 % of the throw,
// which a person can hold.
const furtherPositions = 20

// maxFurtherSettings bounds how many settings are tried.
const maxFurtherSettings = 100

// further looks for the setting and position where the first two candidates
// differ most; none if they differ nowhere by more than both readings' errors.
func (id *Identified) further() *Further {
	first, second := &id.Candidates[0], &id.Candidates[1]
	var best *Further
	most := 2 * id.Options.ReadingError
	settings := id.withinReach()
	step := max(1, (settings.High-settings.Low)/maxFurtherSettings)
	for s := settings.Low; s <= settings.High; s += step {
		if !first.takes(s) || !second.takes(s) {
			continue
		}
		for i := 1; i < furtherPositions; i++ {
			v := float64(i) / furtherPositions
			a, b := first.Command(float64(s), v), second.Command(float64(s), v)
			if d := math.Abs(a - b); d > most {
				most, best = d, &Further{Setting: s, Position: v, First: a, Second: b}
			}
		}
	}
	if best != nil && id.Options.Settings == nil {
		low, high := id.read()
		best.Beyond = float64(best.Setting) < low || float64(best.Setting) > high
	}
	return best
}

// takes says whether the family still is a shape at the setting.
func (c *Candidate) takes(setting int) bool {
	a := c.parameter(float64(setting))
	return a >= c.Low && a <= c.High
}

// withinReach returns the whole numbers to read at: those that the program
// accepts where they are known, else up to twice as far from the straight
// setting as any reading.
func (id *Identified) withinReach() Range {
	if id.Options.Settings != nil {
		return *id.Options.Settings
	}
	low, high := id.read()
	at := id.Options.StraightAt
	return Range{int(math.Ceil(at - 2*(at-low))), int(math.Floor(at + 2*(high-at)))}
}

// read returns the stretch of settings that the readings and the straight
// setting span.
func (id *Identified) read() (low, high float64) {
	low, high = id.Options.StraightAt, id.Options.StraightAt
	for _, row := range id.Readings.Rows {
		low, high = math.Min(low, row.Setting), math.Max(high, row.Setting)
	}
	return low, high
}
