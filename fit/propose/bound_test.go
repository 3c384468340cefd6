package propose

import (
	"fmt"
	"math"
	"slices"
	"testing"

	"gonum.org/v1/gonum/floats"
	"halfstick/curves"
	"pgregory.net/rapid"
)

// Panter and Dite's constants are those of D ≈ (1/12N²)(∫p^(1/3))³ over the
// whole axis at unit variance. Half of the axis, of density 2p, scaled to
// deviation σ, has (∫p^(1/3))³ = 3σ² times the constant.
func TestBoundWithoutLimitsIsPanterAndDites(t *testing.T) {
	var want struct {
		Gauss   float64 `json:"gauss_const"`
		Laplace float64 `json:"laplace_const"`
	}
	reference(t, "optimal_quantisers.json", "quant.panter_dite", &want)
	// The tolerances are the grid's: a thousand cells over [0,1].
	const sigma = 0.06
	gauss := halfNormal(sigma)
	near(t, "Gaussian", bestUnder(&gauss, unlimited()).square/(3*sigma*sigma), want.Gauss, 1e-3)
	const b = 0.03 // variance 2b²
	laplace := NewDemand(func(y float64) float64 { return math.Exp(-y / b) })
	near(t, "Laplace", bestUnder(&laplace, unlimited()).square/(3*2*b*b), want.Laplace, 1e-3)
}

// The numbers of the default demand at a largest slope of 3, to the digits known
// from one numerical run that is independent of this code.
func TestDefaultDemandsNumbers(t *testing.T) {
	d := DefaultDemand(0.5)
	bound := boundFit(&d, newReach(limits{3, 0.2}))
	within(t, "bound's slope at centre", bound.CentreSlope, 0.545, 0.555)
	within(t, "bound at half-throw", bound.Shape.At(0.5), 0.295, 0.305)
	within(t, "bound's largest slope", bound.MaxSlope, 3-1e-9, 3+1e-9)
	f := newFitter(&d, newReach(usual()))
	blend, power := f.blend(), f.power()
	within(t, "best blend", blend.Parameter, 0.485, 0.495)
	within(t, "its gain", blend.Gain, 0.845, 0.855)
	within(t, "best exponent", power.Parameter, 1.47, 1.49)
	within(t, "its gain", power.Gain, 0.545, 0.555)
	within(t, "gain of a blend of 0.33", f.gain(f.square(curves.Blend{Share: 0.33})), 0.745, 0.755)
	near(t, "straight's mean square slope", f.straight, 1, 1e-6)
	near(t, "bound's jitter by its own curve", math.Sqrt(f.square(bound.Shape)), bound.Jitter, 1e-3)
}

// At the optimum one λ holds: 2p/g³ = λ where g is free, ≤ λ where g is at its
// lower limit 1/s and ≥ λ at its upper one, and ∫g = 1 (Karush, Kuhn, Tucker).
func TestBoundMeetsTheOptimalityConditions(t *testing.T) {
	free, low, high := 0, 0, 0
	for _, normal := range []float64{0.1, 0.2, 0.35, 0.5, 0.8, 1} {
		for _, lim := range []limits{{3, 0.2}, {1.3, 0.2}, {2, 0.5}, {6, 0}} {
			d := DefaultDemand(normal)
			b := bestUnder(&d, lim)
			where := fmt.Sprintf("normal %g, limits %v", normal, lim)
			near(t, where+": ∫g", floats.Sum(b.handSlope)/cells, 1, 1e-12)
			var lambdas []float64
			for i, p := range d.mid() {
				g := b.handSlope[i]
				if g > 1/lim.largest*(1+1e-12) && (lim.smallest == 0 || g < 1/lim.smallest*(1-1e-12)) {
					lambdas = append(lambdas, 2*p/(g*g*g))
				}
			}
			if len(lambdas) == 0 {
				t.Fatalf("%s: no cell is free", where)
			}
			lambda := lambdas[0]
			near(t, where+": least λ", slices.Min(lambdas), lambda, 1e-9)
			near(t, where+": largest λ", slices.Max(lambdas), lambda, 1e-9)
			free += len(lambdas)
			for i, p := range d.mid() {
				g := b.handSlope[i]
				switch marginal := 2 * p / (g * g * g); {
				case g <= 1/lim.largest*(1+1e-12):
					low++
					if marginal > lambda*(1+1e-9) {
						t.Fatalf("%s: cell %d at its lower limit would gain by a larger g: %g > %g", where, i, marginal, lambda)
					}
				case lim.smallest > 0 && g >= 1/lim.smallest*(1-1e-12):
					high++
					if marginal < lambda*(1-1e-9) {
						t.Fatalf("%s: cell %d at its upper limit would gain by a smaller g: %g < %g", where, i, marginal, lambda)
					}
				}
			}
		}
	}
	if free < 1000 || low < 1000 || high < 100 {
		t.Errorf("too few cells looked at: %d free, %d at the lower limit, %d at the upper", free, low, high)
	}
}

// drawDemand draws a demand with up to three humps, which need not fall outward.
func drawDemand(t *rapid.T) Demand {
	type hump struct{ at, width, height float64 }
	humps := make([]hump, rapid.IntRange(1, 3).Draw(t, "humps"))
	for i := range humps {
		humps[i] = hump{
			rapid.Float64Range(0, 1).Draw(t, "at"), rapid.Float64Range(0.03, 0.6).Draw(t, "width"),
			rapid.Float64Range(0.1, 1).Draw(t, "height"),
		}
	}
	return NewDemand(func(y float64) float64 {
		sum := 0.0
		for _, h := range humps {
			z := (y - h.at) / h.width
			sum += h.height * math.Exp(-z*z/2)
		}
		return sum
	})
}

func drawLimits(t *rapid.T) limits {
	return limits{rapid.Float64Range(1.1, 8).Draw(t, "largest"), rapid.Float64Range(0.05, 0.95).Draw(t, "smallest")}
}

// drawHandSlope draws a non-rising g′ under the limits with ∫g′ = 1: about a
// given one or from nothing, scaled until it fills the throw.
func drawHandSlope(t *rapid.T, about []float64, lim limits) []float64 {
	const knots = 12
	spread := rapid.Float64Range(0.001, 2).Draw(t, "spread")
	fresh := rapid.Bool().Draw(t, "fresh")
	var knot [knots + 1]float64
	for i := range knot {
		knot[i] = rapid.Float64Range(-1, 1).Draw(t, "knot")
	}
	g := make([]float64, cells)
	for i := range g {
		at := float64(i) / cells * knots
		k := int(at)
		bump := knot[k] + (at-float64(k))*(knot[k+1]-knot[k])
		g[i] = math.Exp(spread * bump)
		if !fresh {
			g[i] *= about[i]
		}
	}
	slices.SortFunc(g, func(a, b float64) int {
		switch {
		case a > b:
			return -1
		case a < b:
			return 1
		}
		return 0
	})
	out := make([]float64, cells)
	fill := func(logC float64) float64 {
		for i := range g {
			out[i] = math.Min(math.Max(g[i]*math.Exp(logC), 1/lim.largest), 1/lim.smallest)
		}
		return floats.Sum(out)/cells - 1
	}
	fill(risingRoot(fill, -60, 60))
	return out
}

func TestNoCurveBeatsTheBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, lim := drawDemand(t), drawLimits(t)
		b := bestUnder(&d, lim)
		g := drawHandSlope(t, b.handSlope, lim)
		square := 0.0
		for i, p := range d.mid() {
			square += p / (g[i] * g[i]) / cells
		}
		if square < b.square*(1-1e-12) {
			t.Fatalf("J %.12g below the bound %.12g", square, b.square)
		}
	})
}

// The bound is also what shapes of the profile file are judged by, with the
// other way of working out J and with the count of slopes below the limit.
func TestNoShapeBeatsTheBound(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, lim := drawDemand(t), drawLimits(t)
		f := newFitter(&d, newReach(lim))
		k := rapid.Float64Range(0, 1).Draw(t, "share") * math.Min((lim.largest-1)/2, 1)
		p := 1 + rapid.Float64Range(0, 1).Draw(t, "above 1")*(math.Min(lim.largest, 8)-1)
		for _, s := range []curves.Shape{curves.Blend{Share: k}, curves.Power{Exponent: p}} {
			if square := f.square(s); square < f.bound.square*(1-1e-3) {
				t.Fatalf("%v: J %.6g below the bound %.6g", s, square, f.bound.square)
			}
		}
	})
}

func TestBoundsSlopesRiseWithinTheLimits(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d, lim := drawDemand(t), drawLimits(t)
		b := bestUnder(&d, lim)
		for i, g := range b.handSlope {
			if g < 1/lim.largest || g > 1/lim.smallest || i > 0 && g > b.handSlope[i-1] {
				t.Fatalf("cell %d: g %g after %g under %v", i, g, b.handSlope[max(0, i-1)], lim)
			}
		}
	})
}

// The least-squares non-rising sequence by its min-max formula (Robertson,
// Wright and Dykstra, Order Restricted Statistical Inference, 1988, section
// 1.4): the least over starts a ≤ i of the largest mean of p_a…p_b, b ≥ i.
func TestAntitonicByTheMinMaxFormula(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.SliceOfN(rapid.Float64Range(0, 10), 1, 12).Draw(t, "p")
		got := antitonic(p)
		for i := range p {
			want := math.Inf(1)
			for a := 0; a <= i; a++ {
				most := math.Inf(-1)
				for b := i; b < len(p); b++ {
					most = math.Max(most, floats.Sum(p[a:b+1])/float64(b-a+1))
				}
				want = math.Min(want, most)
			}
			if math.Abs(got[i]-want) > 1e-9 {
				t.Fatalf("%v: at %d got %g, want %g", p, i, got[i], want)
			}
		}
	})
}

func TestBoundWithNothingToGainIsStraight(t *testing.T) {
	even, default50 := evenDemand(), DefaultDemand(0.5)
	b := boundFit(&even, newReach(limits{3, 0.2}))
	near(t, "RMS slope", b.Jitter, 1, 1e-12)
	for _, v := range []float64{0, 0.1, 0.5, 0.93, 1} {
		if got := b.Shape.At(v); math.Abs(got-v) > 1e-9 {
			t.Errorf("at %g: got %g", v, got)
		}
	}
	limited := boundFit(&default50, newReach(limits{1, 0.2}))
	near(t, "RMS slope at a largest slope of 1", limited.Jitter, 1, 1e-12)
}
