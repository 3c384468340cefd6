package propose

import (
	"math"

	"gonum.org/v1/gonum/optimize"
)

const (
	costSteps = 320 // of the shaped throw, for J in the search
	// brokenWeight is of the square by which a limit is broken or a slope falls,
	// against the share of the possible gain where all of J could be gained.
	brokenWeight = 2e3
	// A line search looks far out at times; no farther than where numbers last.
	farOut, mostRise = 12, 1
)

// pointSearch looks for the best monotone cubic through so many points, whose
// positions and commands move at once. The parameters are, for k pieces, the
// k−1 logarithms of the widths against the last piece's, beyond leastWidth, and
// the k−1 logarithms of the rises of ln(secant) from piece to piece: whatever
// they are, the secants rise.
type pointSearch struct {
	f           *fitter
	pieces      int
	least, most float64 // slopes that the search keeps to
	weight      float64 // of what breaks them

	// The curve that was laid last: width and secant of the pieces, command and
	// slope at their ends.
	width, secant, y, slope []float64
	share, rise             []float64 // of the width that is shared out; of ln(secant)
	by                      partials
}

// partials are the derivatives of the cost by what makes up the curve.
type partials struct{ width, secant, y, slope []float64 }

func newPointSearch(f *fitter, pieces int) *pointSearch {
	list := func(n int) []float64 { return make([]float64, n) }
	k := pieces
	return &pointSearch{
		f: f, pieces: k,
		least: f.reach.shape.smallest * (1 + searchMargin), most: f.reach.shape.largest * (1 - searchMargin),
		weight: brokenWeight * math.Max(1, f.straight/(f.straight-f.bound.square)),
		width:  list(k), secant: list(k), y: list(k + 1), slope: list(k + 1), share: list(k), rise: list(k - 1),
		by: partials{list(k), list(k), list(k + 1), list(k + 1)},
	}
}

// search returns better parameters than x, by the quasi-Newton method of
// Broyden, Fletcher, Goldfarb and Shanno. Where it gets stuck, what it has
// found so far stands.
func (w *pointSearch) search(x []float64) []float64 {
	r, err := optimize.Minimize(
		optimize.Problem{Func: w.cost, Grad: w.gradient}, x,
		&optimize.Settings{
			MajorIterations: 40 + 4*w.pieces,
			Converger:       &optimize.FunctionConverge{Absolute: 2e-4, Iterations: 10},
		}, &optimize.BFGS{})
	if r == nil {
		panic("propose: the search for points was set up wrongly: " + err.Error())
	}
	return r.X
}

// lay works the curve of the parameters out.
func (w *pointSearch) lay(x []float64) {
	k := w.pieces
	sum := 0.0
	for i := range k {
		w.share[i] = 1
		if i < k-1 {
			w.share[i] = math.Exp(math.Min(math.Max(x[i], -farOut), farOut))
		}
		sum += w.share[i]
	}
	full, logSecant := 0.0, 0.0
	for i := range k {
		w.share[i] *= (1 - float64(k)*leastWidth) / sum
		w.width[i] = leastWidth + w.share[i]
		if i > 0 {
			w.rise[i-1] = math.Exp(math.Min(x[k-2+i], mostRise))
			logSecant += w.rise[i-1]
		}
		w.secant[i] = math.Exp(logSecant)
		full += w.secant[i] * w.width[i]
	}
	for i := range k {
		w.secant[i] /= full
		w.y[i+1] = w.y[i] + w.secant[i]*w.width[i]
	}
	for i := range w.slope {
		w.slope[i] = w.nodeSlope(i, 0)
	}
}

// nodeSlope is the slope that curves.Points has at a node (Fritsch and Butland
// 1984; the ends by the three-point formula). It adds what the cost changes by,
// per change of this slope, to the derivatives by widths and secants.
func (w *pointSearch) nodeSlope(i int, per float64) float64 {
	h, s := w.width, w.secant
	if i > 0 && i < w.pieces {
		a, b := (2*h[i]+h[i-1])/s[i-1], (2*h[i-1]+h[i])/s[i]
		slope := 3 * (h[i-1] + h[i]) / (a + b)
		per *= slope / (a + b)
		w.by.secant[i-1] += per * a / s[i-1]
		w.by.secant[i] += per * b / s[i]
		w.by.width[i-1] += per * (3/slope - 1/s[i-1] - 2/s[i])
		w.by.width[i] += per * (3/slope - 2/s[i-1] - 1/s[i])
		return slope
	}
	end, next := 0, 1
	if i > 0 {
		end, next = w.pieces-1, w.pieces-2
	}
	both := h[end] + h[next]
	bend := (s[end] - s[next]) / both
	slope := s[end] + h[end]*bend
	if slope <= 0 {
		return 0
	}
	per /= both
	w.by.secant[end] += per * (both + h[end])
	w.by.secant[next] -= per * h[end]
	w.by.width[end] += per * h[next] * bend
	w.by.width[next] -= per * h[end] * bend
	return slope
}

// cost is the share of the possible gain that the curve misses, and more where
// a limit is broken or the slope falls.
func (w *pointSearch) cost(x []float64) float64 {
	w.lay(x)
	return w.missed(false)
}

// missed is the cost of the curve laid; it leaves its derivatives in by if they
// are wanted, as if the slopes at the nodes were free. A piece's slope is a
// parabola that does not fall if it falls at neither end.
func (w *pointSearch) missed(wanted bool) float64 {
	d := w.f.demand
	possible := w.f.straight - w.f.bound.square
	missed, broken := 1-w.f.straight/possible, 0.0 // of J = 0
	hinge := func(by float64, i int, first, secant, last float64) {
		if by <= 0 {
			return
		}
		broken += w.weight * by * by
		if wanted {
			by *= 2 * w.weight
			w.by.slope[i] += by * first
			w.by.secant[i] += by * secant
			w.by.slope[i+1] += by * last
		}
	}
	at, n := 0.0, 0
	for i := range w.pieces {
		h, s, d0, d1 := w.width[i], w.secant[i], w.slope[i], w.slope[i+1]
		hinge(2*d0+d1-3*s, i, 2, -3, 1)
		hinge(3*s-d0-2*d1, i, -1, 3, -2)
		for ; n < costSteps; n++ {
			v := (float64(n) + 0.5) / costSteps
			if v >= at+h && i < w.pieces-1 {
				break
			}
			t := (v - at) / h
			r := 1 - t
			slope := d0*r*(1-3*t) - d1*t*(2-3*t) + s*6*t*r
			rise := t * (d0*r*r - d1*t*r + s*t*(3-2*t))
			p := d.At(w.y[i] + h*rise)
			weight := slope * slope / (costSteps * possible)
			missed += p * slope * weight
			if !wanted {
				continue
			}
			bySlope, byY := 3*p*weight, d.slopeAt(w.y[i]+h*rise)*slope*weight
			bend := d0*(6*t-4) + d1*(6*t-2) + 6*s*(1-2*t) // of the slope by t
			w.by.slope[i] += bySlope*r*(1-3*t) + byY*h*t*r*r
			w.by.slope[i+1] -= bySlope*t*(2-3*t) + byY*h*t*t*r
			w.by.secant[i] += bySlope*6*t*r + byY*h*t*t*(3-2*t)
			w.by.y[i] += byY
			w.by.width[i] += byY*(rise-t*slope) - bySlope*bend*t/h
			shift := byY*slope + bySlope*bend/h // as the piece begins further out
			for j := range i {
				w.by.width[j] -= shift
			}
		}
		at += h
	}
	hinge(w.slope[w.pieces]-w.most, w.pieces-1, 0, 0, 1)
	hinge(w.least-w.slope[0], 0, -1, 0, 0)
	return missed + broken
}

// gradient works the derivatives of the cost by the parameters out, backwards
// through lay.
func (w *pointSearch) gradient(grad, x []float64) {
	k, by := w.pieces, w.by
	w.lay(x)
	for _, list := range [][]float64{by.width, by.secant, by.y, by.slope} {
		clear(list)
	}
	w.missed(true)
	for i, per := range by.slope {
		w.nodeSlope(i, per)
	}
	above := 0.0 // by all commands from here on
	for i := k - 1; i >= 0; i-- {
		above += by.y[i+1]
		by.secant[i] += above * w.width[i]
		by.width[i] += above * w.secant[i]
	}
	// All secants are divided by their sum over the throw.
	all := 0.0
	for i, per := range by.secant {
		all += per * w.secant[i]
	}
	mean := 0.0
	for i := range k {
		by.width[i] -= all * w.secant[i]
		mean += by.width[i] * w.share[i]
	}
	above = 0
	for i := k - 1; i > 0; i-- {
		above += w.secant[i] * (by.secant[i] - all*w.width[i])
		grad[k-2+i] = above * w.rise[i-1]
	}
	spread := 1 - float64(k)*leastWidth
	for i := range k - 1 {
		grad[i] = w.share[i] * (by.width[i] - mean/spread)
	}
}
