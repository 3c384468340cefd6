package measure

import (
	"fmt"
	"math"
	"sort"
	"strings"
)

// releasesToHalve is how many releases more halve the interval of their mean; 0
// for fewer than two, which give no interval. It is fewer than 3n, as Student's t
// shrinks too.
func releasesToHalve(n int) int {
	if n < 2 {
		return 0
	}
	return moreTo(n, 0.5)
}

// moreTo is how many values more narrow the interval of the mean of n, t·s/√n, to
// a share of itself, if they scatter as the first did; mostMore at most.
func moreTo(n int, share float64) int {
	width := func(n int) float64 { return t975(float64(n-1)) / math.Sqrt(float64(n)) }
	enough := share * width(n)
	return 1 + sort.Search(mostMore-1, func(i int) bool { return width(n+1+i) <= enough })
}

// mostMore are more than a person can be asked for.
const mostMore = 1000

// halving says how much more of everything that there is halves its interval,
// and puts the numbers into evidence: an interval of many values narrows with
// the root of how many are independent, and so with that of the time at rest.
func (a *analysis) halving(evidence map[string]*Quantity) string {
	var ways []string
	if a.restSeconds >= leastRest {
		more := math.Ceil(3 * a.restSeconds)
		ways = append(ways, fmt.Sprintf("%.0f s more of rest", more))
		evidence["rest_seconds_to_halve"] = bare(more, unitSeconds, a.restReports, "three times the rest so far, so that four times as many independent reports halve the interval of the rest noise; no interval")
	}
	if !a.oneSided() {
		for i, n := range a.releases {
			if more := releasesToHalve(n); more > 0 {
				ways = append(ways, fmt.Sprintf("%s more from the %s side", counted(more, "release"), sideName(i)))
				evidence["releases_"+sideName(i)+"_to_halve"] = bare(float64(more), "releases", n, "releases more until Student's t over the root of n is half of what it is; no interval")
			}
		}
	}
	if a.traversed >= 2 {
		more := (3*a.traversed + 1) / 2
		ways = append(ways, fmt.Sprintf("%s more there and back", counted(more, "sweep")))
		evidence["sweeps_to_halve"] = bare(float64(more), "sweeps", a.traversed, "three times the ways so far, two a sweep; no interval")
	}
	if len(ways) == 0 {
		return ""
	}
	return " Each interval is halved by so much more: " + strings.Join(ways, ", ") + "."
}

func counted(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
