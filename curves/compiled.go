package curves

import "math"

// Compiled is a response worked out for every count there is.
type Compiled struct {
	commands [1 << 16]int16
}

// Compile works the response out for all 65,536 counts. Each entry is
// 32767·y rounded half away from zero.
func (r *Response) Compile() *Compiled {
	c := new(Compiled)
	for i := range c.commands {
		c.commands[i] = int16(math.Round(fullCommand * r.FromCounts(float64(i)+minCounts)))
	}
	return c
}

// Command returns the command, −32767…32767, for counts. It does not allocate.
func (c *Compiled) Command(counts int16) int16 {
	return c.commands[int(counts)-math.MinInt16]
}
