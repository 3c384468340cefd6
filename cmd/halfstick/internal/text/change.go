package text

import (
	"fmt"

	"halfstick/fit/measure"
)

// ChangeSummary says in a sentence or two how much changed between two
// recordings, and how sure that is.
func ChangeSummary(c *measure.Change) string {
	sure := fmt.Sprintf("If nothing had changed, one or more of them would be called changed in at most %s of such comparisons.", Percent(c.FalseCries))
	switch {
	case c.Tested == 0:
		return "nothing could be tested, as no quantity was measured with an interval in both."
	case c.Changed == 0:
		return fmt.Sprintf("of %d quantities tested, none changed beyond the noise. A change smaller than the interval of its difference would not be seen.", c.Tested)
	case c.Changed == 1:
		return fmt.Sprintf("of %d quantities tested, 1 changed beyond the noise. %s", c.Tested, sure)
	}
	return fmt.Sprintf("of %d quantities tested, %d changed beyond the noise. %s", c.Tested, c.Changed, sure)
}
