package measure

import (
	"math"
	"sort"

	"halfstick/fit/stats"
)

const (
	flatReports = 5
	flatSpeed   = 0.2 // of the way's speed: slower is standing
	seenShare   = 0.6 // of the ways must stand at the same place
	seenLeast   = 3
	sameWithin  = 0.02 // of u: two stands closer are at the same place
	jumpSpeeds  = 3.0  // times what the motion covers meanwhile
	jumpSigmas  = 10.0
	jumpSteps   = 4.0
	sideOfAJump = 6 // reports whose median stands for a level; spikes are shorter
)

// stand is a place where the counts stood although the way went on.
type stand struct{ u, width float64 }

// plateaus finds places where the counts stand still in most ways. A hand that
// pauses once does so in one place only; a track that is dead does so in every
// way. How wide it is follows from how long it lasts at the way's speed.
func (a *analysis) plateaus(ways []traverse) {
	var all []stand
	for _, w := range ways {
		all = append(all, a.stands(w)...)
	}
	sort.Slice(all, func(i, j int) bool { return all[i].u < all[j].u })
	need := max(seenLeast, int(math.Ceil(seenShare*float64(len(ways)))))
	for i := 0; i < len(all); {
		j := i
		for j < len(all) && all[j].u-all[i].u <= sameWithin {
			j++
		}
		if j-i >= need {
			var u, width []float64
			for _, s := range all[i:j] {
				u, width = append(u, s.u), append(width, s.width)
			}
			mid, half := stats.Median(u), stats.Median(width)/2
			a.out.Sweep.Plateaus = append(a.out.Sweep.Plateaus, Span{From: mid - half, To: mid + half})
			i = j
			continue
		}
		i++
	}
}

// stands lists where one way stood.
func (a *analysis) stands(w traverse) []stand {
	n := len(w.x)
	span := w.t[n-1] - w.t[0]
	if span <= 0 {
		return nil
	}
	x := stats.MedianFilter(w.x, 5)
	speed := math.Abs(x[n-1]-x[0]) / span // counts per second
	// The running median of five reports still ranges over some 3 σ.
	slack := math.Max(1.2*a.step, 3*a.noiseGuess)
	var out []stand
	for i := 0; i < n; {
		j := i
		lo, hi := x[i], x[i]
		for j+1 < n && math.Max(hi, x[j+1])-math.Min(lo, x[j+1]) <= slack {
			j++
			lo, hi = math.Min(lo, x[j]), math.Max(hi, x[j])
		}
		t := w.t[j] - w.t[i]
		moved := speed * t
		if j-i >= flatReports && flatSpeed*moved > slack {
			u := a.position((lo + hi) / 2)
			out = append(out, stand{u: u, width: moved / a.halfThrow(u > 0)})
		}
		i = j + 1
	}
	return out
}

// jumps counts level changes that the motion does not explain.
func (a *analysis) jumps(ways []traverse) {
	if len(ways) == 0 {
		return
	}
	count := 0
	for _, w := range ways {
		count += a.jumpsIn(w)
	}
	sweeps := float64(len(ways)) / 2
	lo, hi := stats.PoissonInterval(count, sweeps, 0.95)
	a.out.Sweep.JumpsPerSweep = within(float64(count)/sweeps, lo, hi, unitPerSweep, len(ways),
		"changes between the medians of 6 reports each by more than 3 times the motion, 10 σ and 4 steps, per sweep there and back; n is the number of ways; Poisson interval")
}

func (a *analysis) jumpsIn(w traverse) int {
	n := len(w.x)
	if n < 6*sideOfAJump {
		return 0
	}
	motion := (w.x[n-1] - w.x[0]) / float64(n-1) * sideOfAJump
	least := math.Max(jumpSpeeds*math.Abs(motion), math.Max(jumpSigmas*a.noiseGuess, jumpSteps*a.step))
	count, last := 0, -sideOfAJump
	for i := sideOfAJump; i+sideOfAJump <= n; i++ {
		before := stats.Median(w.x[i-sideOfAJump : i])
		after := stats.Median(w.x[i : i+sideOfAJump])
		if math.Abs(after-before-motion) > least && i-last >= sideOfAJump {
			count++
			last = i
		}
	}
	return count
}
