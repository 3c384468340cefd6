package curves

import "math"

// Compiled is a response worked out for every count there is: for replaying
// more rows than there are counts.
type Compiled struct {
	commands [1 << 16]float64
}

// Compile works the response out for all 65,536 counts.
func (r *Response) Compile() *Compiled {
	c := new(Compiled)
	for i := range c.commands {
		c.commands[i] = r.FromCounts(float64(i) + minCounts)
	}
	return c
}

// Command returns what FromCounts does for counts. It does not allocate.
func (c *Compiled) Command(counts int16) float64 {
	return c.commands[int(counts)-math.MinInt16]
}
