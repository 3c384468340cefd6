package main

import (
	"math"

	"halfstick/input"
	"halfstick/input/rig"
)

// pilot is how one axis is flown: a command made of Gaussian moods that are
// forgotten within seconds.
type pilot struct {
	kind input.Kind
	// how is the form of the demand: gaussian, corner (of a double exponential),
	// held (with stretches of large command) or off-centre.
	how    string
	width  float64 // of the command about where it is aimed
	at     float64 // where that is: the trim, a turn's command, a lever's setting
	memory float64 // seconds
}

// hows are the forms of the demand.
var hows = []string{"gaussian", "corner", "held", "off-centre"}

func drawPilot(c chance, kind input.Kind) pilot {
	p := pilot{kind: kind, how: hows[c.IntN(len(hows))], width: c.spread(0.04, 0.5), memory: c.spread(0.7, 8)}
	switch {
	case kind == input.OneSided:
		p.at, p.width = c.between(0.1, 0.8), c.spread(0.04, 0.3)
	case p.how == "held":
		p.at = c.between(0.25, 0.8)
	case p.how == "off-centre":
		p.at = c.sign() * c.between(0.05, 0.3)
	}
	return p
}

// flyHz is how many rows a second of flight has: none may stand for more than a
// tenth of a second.
const flyHz = 10.0

// fly returns the commands of so many minutes.
func (p pilot) fly(c chance, minutes float64) []float64 {
	y := make([]float64, int(minutes*60*flyHz))
	now, slow := newMood(c, p.memory), newMood(c, 4*p.memory)
	for i := range y {
		y[i] = p.command(now.next(c), slow.next(c))
	}
	return y
}

func (p pilot) command(now, slow float64) float64 {
	y := p.width * now
	switch p.how {
	case "corner":
		// The Gaussian's probability beyond |now| becomes that of an exponential.
		y = math.Copysign(-p.width/math.Sqrt2*math.Log(math.Erfc(math.Abs(now)/math.Sqrt2)), now)
	case "held":
		if math.Abs(slow) > 1 { // nearly a third of the time
			y += math.Copysign(p.at, slow)
		}
	case "off-centre":
		y += p.at
	}
	if p.kind == input.OneSided {
		if p.how != "off-centre" {
			y += p.at
		}
		return math.Min(math.Max(y, 0), 1)
	}
	return math.Min(math.Max(y, -1), 1)
}

// mood is a Gaussian process of deviation 1 whose correlation falls to 1/e in
// its memory.
type mood struct{ x, keep float64 }

func newMood(c chance, memory float64) *mood {
	return &mood{c.NormFloat64(), math.Exp(-1 / (flyHz * memory))}
}

func (m *mood) next(c chance) float64 {
	x := m.x
	m.x = m.keep*x + math.Sqrt(1-m.keep*m.keep)*c.NormFloat64()
	return x
}

// recordFlight is the recording of a flight with these commands, axis by axis,
// through a straight response with the device's true stops and centre, and with
// the sensor's noise.
func recordFlight(c chance, header input.Header, axes []rig.Truth, commands [][]float64) (*input.Recording, error) {
	header.RateHz = flyHz
	out, err := input.NewCollector(header)
	if err != nil {
		return nil, err
	}
	row := input.Row{
		Counts: make([]int16, len(axes)), Present: make([]bool, len(axes)),
		Phase: input.Phase{Kind: input.Flight},
	}
	for k := range commands[0] {
		row.AtUS = int64(float64(k) * 1e6 / flyHz)
		for i, t := range axes {
			y := commands[i][k]
			counts := t.CentreCounts + y*(t.HighCounts-t.CentreCounts)
			switch {
			case t.Kind == input.OneSided:
				counts = t.LowCounts + y*(t.HighCounts-t.LowCounts)
			case y < 0:
				counts = t.CentreCounts + y*(t.CentreCounts-t.LowCounts)
			}
			counts += t.SigmaCounts * c.NormFloat64()
			row.Counts[i] = int16(math.Round(math.Min(math.Max(counts, -32768), 32767)))
			row.Present[i] = true
		}
		if err := out.Write(row); err != nil {
			return nil, err
		}
	}
	return out.Recording(), nil
}
