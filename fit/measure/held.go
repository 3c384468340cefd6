package measure

import "math"

// What is left out of a rest because the sensor's noise cannot be in it.
const (
	clippedShare  = 0.5  // of a tile's reports at the end of the scale: it says nothing
	leastSettled  = 1.0  // seconds of what is left that are still of use
	changingLeast = 0.4  // share of reports unlike the last below which a held value looks like a quiet one
	changingWorst = 0.6  // of that share, where the mean is half-way between two codes' edges
	heldChance    = 1e-2 // of a run so long in a whole rest
)

// atEnd tells whether counts are at an end of the scale, where a converter
// holds all that lies beyond.
func atEnd(counts float64) bool { return counts <= -32768 || counts >= 32767 }

// offEnds leaves out of a rest the quarter seconds in which the reading stands
// at the end of the scale, most of the time: a sensor that has drifted out of
// its converter's range shows neither noise nor drift.
func offEnds(g segment) (parts []segment, left float64) {
	from := 0
	keep := func(to int) {
		if p := (segment{phase: g.phase, stretch: g.stretch, t: g.t[from:to], x: g.x[from:to]}); p.seconds() >= leastSettled {
			parts = append(parts, p)
		}
	}
	for i := 0; i < len(g.t); {
		j, n := i, 0.0
		for j < len(g.t) && g.t[j] < g.t[i]+restTile {
			if atEnd(g.x[j]) {
				n++
			}
			j++
		}
		if n > clippedShare*float64(j-i) {
			keep(i)
			from = j
		}
		i = j
	}
	keep(len(g.t))
	left = g.seconds()
	for _, p := range parts {
		left -= p.seconds()
	}
	return parts, left
}

// longestRun is the number of equal reports running that noise does not bring
// but once in a hundred such rests, or 0 where it is so quiet that it may. It
// looks at the reports that follow an unlike one or a short run only, as those
// of a stalled device would pass for quiet.
func longestRun(parts []segment) int {
	longest := math.MaxInt
	for range 10 {
		pairs, unlike := 0.0, 0.0
		for _, p := range parts {
			run := 1
			for i := 1; i <= len(p.x); i++ {
				if i < len(p.x) && p.x[i] == p.x[i-1] {
					run++
					continue
				}
				if run <= longest {
					pairs += float64(run)
					unlike++
				}
				run = 1
			}
		}
		share := unlike / math.Max(1, pairs)
		if share < changingLeast && longest != math.MaxInt || pairs < 20 {
			return 0
		}
		next := int(math.Ceil(math.Log(pairs/heldChance) / -math.Log(1-changingWorst*share)))
		if next >= longest {
			break
		}
		longest = next
	}
	return longest
}

// notHeld is a rest without the reports of runs longer than longest: the
// device sent nothing, or the sensor stuck. The first of a run stays. Hours of
// rest in which there is none are not copied.
func (s segment) notHeld(longest int) (out segment, held float64) {
	out = segment{phase: s.phase, stretch: s.stretch}
	from := 0 // the first row that is not in out yet
	for i := 0; i < len(s.x) && longest > 0; {
		j := i + 1
		for j < len(s.x) && s.x[j] == s.x[i] {
			j++
		}
		if j-i > longest {
			held += s.t[j-1] - s.t[i]
			out.t, out.x = append(out.t, s.t[from:i+1]...), append(out.x, s.x[from:i+1]...)
			from = j
		}
		i = j
	}
	if from == 0 {
		return s, 0
	}
	out.t, out.x = append(out.t, s.t[from:]...), append(out.x, s.x[from:]...)
	return out, held
}
