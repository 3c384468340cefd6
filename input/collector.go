package input

// Collector is a RowWriter that keeps what it is given as a Recording.
type Collector struct {
	rec   Recording
	check rowCheck
}

// NewCollector starts an empty recording. The error is that of a header which
// breaks the format.
func NewCollector(h Header) (*Collector, error) {
	if bad := h.check(); bad != nil {
		return nil, bad.asError()
	}
	return newCollector(h, nil), nil
}

// newCollector trusts the header and the names of the extra columns.
func newCollector(h Header, extra []string) *Collector {
	c := &Collector{rec: Recording{Header: h}, check: newRowCheck(h, len(extra))}
	for di, d := range h.Devices {
		for ai := range d.Axes {
			c.rec.Columns = append(c.rec.Columns, Column{Device: di, Axis: ai})
		}
	}
	for _, name := range extra {
		c.rec.Extra = append(c.rec.Extra, ExtraColumn{Name: name})
	}
	return c
}

// Write appends a row, or reports how it breaks the format.
func (c *Collector) Write(row Row) error {
	if bad := c.add(row); bad != nil {
		return bad.asError()
	}
	return nil
}

// Recording returns the rows so far. It shares memory with the collector: use
// it when the last row has been written.
func (c *Collector) Recording() *Recording { return &c.rec }

func (c *Collector) add(row Row) *problem {
	if bad := c.check.check(row); bad != nil {
		return bad
	}
	i := c.rec.Rows()
	for _, text := range row.Comments {
		c.comment(text)
	}
	c.rec.Times.Append(row.AtUS)
	c.addStretch(Stretch{Phase: row.Phase, From: i, To: i + 1})
	for n := range c.rec.Columns {
		present := row.Present == nil || row.Present[n]
		c.rec.Columns[n].Append(row.Counts[n], present)
	}
	for n := range c.rec.Extra {
		c.rec.Extra[n].Cells = append(c.rec.Extra[n].Cells, row.Extra[n])
	}
	return nil
}

// comment adds a comment line behind the rows so far.
func (c *Collector) comment(text string) {
	c.rec.Comments = append(c.rec.Comments, Comment{Row: c.rec.Rows(), Text: text})
}

// addStretch adds rows of one phase behind those so far.
func (c *Collector) addStretch(s Stretch) {
	if last := len(c.rec.Stretches) - 1; last >= 0 && c.rec.Stretches[last].Phase == s.Phase {
		c.rec.Stretches[last].To = s.To
		return
	}
	c.rec.Stretches = append(c.rec.Stretches, s)
}
