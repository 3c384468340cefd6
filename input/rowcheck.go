package input

import (
	"fmt"
	"strconv"
)

// rowCheck is what reader, writer and collector ask of every row. It remembers
// the row before.
type rowCheck struct {
	columns, extras int
	labels          map[string]bool
	rows            int
	lastUS          int64
}

func newRowCheck(h Header, extras int) rowCheck {
	labels := map[string]bool{}
	for _, d := range h.Devices {
		for _, a := range d.Axes {
			labels[a.Label] = true
		}
	}
	return rowCheck{columns: len(labels), extras: extras, labels: labels}
}

// maxUS is some thirty years: of times below it, differences and the sums that
// joining makes cannot wrap around.
const maxUS = 1_000_000_000_000_000

// check reports what is wrong with a row; a row that passes is the next one's
// predecessor.
func (c *rowCheck) check(row Row) *problem {
	if bad := c.checkTime(row.AtUS); bad != nil {
		return bad
	}
	if bad := c.checkPhase(row.Phase); bad != nil {
		return bad
	}
	for _, text := range row.Comments {
		if bad := badComment(text); bad != nil {
			return bad
		}
	}
	if len(row.Counts) != c.columns || row.Present != nil && len(row.Present) != c.columns {
		return &problem{want: fmt.Sprintf("counts of %d axes", c.columns),
			found:  fmt.Sprintf("%d counts and %d presences", len(row.Counts), len(row.Present)),
			remedy: "give every axis of the header one"}
	}
	if len(row.Extra) != c.extras {
		return &problem{want: fmt.Sprintf("%d extra cells", c.extras), found: strconv.Itoa(len(row.Extra)),
			remedy: "give every extra column one"}
	}
	c.rows++
	c.lastUS = row.AtUS
	return nil
}

func (c *rowCheck) checkTime(at int64) *problem {
	if at < 0 {
		return &problem{want: "t_us of 0 or more", found: strconv.FormatInt(at, 10),
			remedy: "count t_us from the start of the recording"}
	}
	if at > maxUS {
		return &problem{want: fmt.Sprintf("t_us of at most %d", maxUS), found: strconv.FormatInt(at, 10),
			remedy: "count t_us in microseconds from the start of the recording"}
	}
	if c.rows > 0 && at <= c.lastUS {
		return &problem{want: fmt.Sprintf("t_us above the last row's %d", c.lastUS),
			found:  strconv.FormatInt(at, 10),
			remedy: "time must rise from row to row; sort the rows or take the repeated one out"}
	}
	return nil
}

func (c *rowCheck) checkPhase(p Phase) *problem {
	known := p.Kind.Known() && (p.Label == "" || p.Kind != NoPhase)
	if !known {
		return &problem{want: "a phase (" + phaseNames + ")", found: show(p.String()), remedy: "correct the phase"}
	}
	if p.Label != "" && !c.labels[p.Label] {
		return &problem{want: "a phase about an axis of the recording", found: show(p.String()),
			remedy: "use the label of one of its axes, or no label"}
	}
	return nil
}
