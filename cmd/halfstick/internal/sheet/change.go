package sheet

import (
	"halfstick/cmd/halfstick/internal/text"
	"halfstick/fit/measure"
)

// since is the section "since last time".
type since struct {
	Old, Summary, Method string
	Rows                 []changed
}

// changed is one quantity that changed.
type changed struct {
	Axis, Name, Before, Now, Difference, Interval string
}

// sinceOf is nil where there is nothing to compare with.
func sinceOf(c *measure.Change) *since {
	if c == nil {
		return nil
	}
	out := &since{Old: c.Old, Summary: text.ChangeSummary(c), Method: c.Method}
	for _, a := range c.Axes {
		for _, q := range a.Quantities {
			if q.Changed {
				out.Rows = append(out.Rows, changed{a.Label, q.Name, text.Value(q.Old), text.Value(q.New),
					text.Value(q.Difference), text.Interval(q.Difference)})
			}
		}
	}
	return out
}
