package propose

import "math"

// The limits of the density estimate's bandwidth, in y.
const leastBandwidth, mostBandwidth = 0.01, 0.1

// smoothDensity is the Gaussian kernel estimate on the grid of a histogram of
// [0,1], reflected at both ends.
func smoothDensity(weight []float64, seconds float64) []float64 {
	n := len(weight)
	k := newKernel(bandwidth(weight, seconds), n)
	out := make([]float64, n+1)
	for i, w := range weight {
		if w != 0 {
			k.each(i, func(node int, share float64) { out[node] += w / seconds * share })
		}
	}
	return out
}

// bandwidth is Silverman's (Density Estimation, 1986, eq. 3.31, without the
// quartiles), with one independent command a second (a choice; hands move about
// as fast), kept within limits.
func bandwidth(weight []float64, seconds float64) float64 {
	width := 1 / float64(len(weight))
	var m1, m2 float64
	for i, w := range weight {
		y := (float64(i) + 0.5) * width
		m1 += w * y / seconds
		m2 += w * y * y / seconds
	}
	sd := math.Sqrt(math.Max(0, m2-m1*m1))
	h := 0.9 * sd * math.Pow(math.Max(1, seconds), -0.2)
	return math.Min(math.Max(h, leastBandwidth), mostBandwidth)
}

// kernel is a Gaussian on the grid's nodes about the middle of a cell.
type kernel struct {
	n, reach int
	density  []float64 // at the nodes i−reach … i+reach about cell i
}

func newKernel(h float64, n int) kernel {
	width := 1 / float64(n)
	k := kernel{n: n, reach: int(5 * h / width)}
	for j := -k.reach; j <= k.reach; j++ {
		z := (float64(j) - 0.5) * width / h
		k.density = append(k.density, math.Exp(-z*z/2)/(h*math.Sqrt(2*math.Pi)))
	}
	return k
}

// each gives the nodes that cell i reaches and its density there.
func (k kernel) each(i int, f func(node int, density float64)) {
	for j, d := range k.density {
		node := reflected(i+j-k.reach, k.n)
		if node == 0 || node == k.n {
			d *= 2 // a reflected end point receives only one of its two mirror images
		}
		f(node, d)
	}
}

// reflected folds the grid index j back into 0…n.
func reflected(j, n int) int {
	if j < 0 {
		j = -j
	}
	if j > n {
		j = 2*n - j
	}
	return min(max(j, 0), n)
}
