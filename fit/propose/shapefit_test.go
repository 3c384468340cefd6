package propose

import (
	"math"
	"testing"

	"halfstick/curves"
	"pgregory.net/rapid"
)

// With the hand's position even over the throw, J is ∫f′² dv, which the table
// gives in closed form. The demand is then 1/f′ at the position of y.
func TestMeanSquareSlopeOfAnEvenHand(t *testing.T) {
	var rows []struct {
		Curve  string  `json:"curve"`
		Square float64 `json:"mean_sq_slope"`
	}
	reference(t, "optimal_quantisers.json", "quant.curve_slope", &rows)
	shapes := map[string]curves.Shape{
		"blend e=0.5": curves.Blend{Share: 0.5},
		"blend e=0.8": curves.Blend{Share: 0.8},
	}
	checked := 0
	for _, row := range rows {
		s, ok := shapes[row.Curve]
		if !ok {
			continue // powers: their density is infinite at 0
		}
		checked++
		even := NewDemand(func(y float64) float64 { return 1 / s.Slope(s.Inverse(y)) })
		near(t, row.Curve, meanSquareSlope(&even, s, 0), row.Square, 1e-5)
	}
	if checked != len(shapes) {
		t.Errorf("%d of %d rows found", checked, len(shapes))
	}
}

// For an even demand J is ∫f′³ dv = p³/(3p−2) for v^p.
func TestMeanSquareSlopeOfPowersUnderEvenDemand(t *testing.T) {
	d := evenDemand()
	for _, p := range []float64{1, 1.5, 2, 3} {
		near(t, "exponent", meanSquareSlope(&d, curves.Power{Exponent: p}, 0), p*p*p/(3*p-2), 1e-5)
	}
}

// expander is the inverse of ITU-T G.711's μ-law compressor: the hand's
// position is the compressed level.
type expander struct{ mu float64 }

func (expander) Name() string                { return "expander" }
func (e expander) At(v float64) float64      { return math.Expm1(v*math.Log1p(e.mu)) / e.mu }
func (e expander) Slope(v float64) float64   { return math.Log1p(e.mu) * (e.At(v) + 1/e.mu) }
func (e expander) Inverse(y float64) float64 { return math.Log1p(e.mu*y) / math.Log1p(e.mu) }

// Bennett's distortion of N levels through a compressor is J/(3N²), with the
// levels 2/N apart: the same integral.
func TestMeanSquareSlopeIsBennettsIntegral(t *testing.T) {
	var want struct {
		Gain float64 `json:"mu_small_signal_gain"`
		Rows []struct {
			DBFS float64 `json:"sigma_dBFS"`
			N    float64 `json:"N"`
			D    float64 `json:"D_bennett"`
		} `json:"mulaw_bennett_N256_gaussian"`
	}
	reference(t, "optimal_quantisers.json", "quant.companding", &want)
	law := expander{255}
	near(t, "small-signal gain", 1/law.Slope(0), want.Gain, 1e-12)
	if len(want.Rows) != 4 {
		t.Fatalf("%d rows, want 4", len(want.Rows))
	}
	for _, row := range want.Rows {
		sigma := math.Pow(10, row.DBFS/20)
		d := halfNormal(sigma)
		// The grid resolves σ = 0.01 by ten cells.
		near(t, "distortion", meanSquareSlope(&d, law, 0)/(3*row.N*row.N), row.D, 2e-3)
	}
}

// The best parameter is the best of a fine grid, within its limits.
func TestBestParametersAgainstAGrid(t *testing.T) {
	for _, normal := range []float64{0.15, 0.5} {
		for _, lim := range []limits{{3, 0.2}, {1.4, 0.2}, {2, 0.6}} {
			d := DefaultDemand(normal)
			f := newFitter(&d, newReach(lim))
			blend, power := f.blend(), f.power()
			if top := math.Min((lim.largest-1)/2, 1-lim.smallest); blend.Parameter > top+1e-9 {
				t.Errorf("normal %g, %v: blend %g beyond %g", normal, lim, blend.Parameter, top)
			}
			if power.Parameter > lim.largest+1e-9 || power.CentreSlope < lim.smallest-1e-9 {
				t.Errorf("normal %g, %v: power %+v", normal, lim, power)
			}
			for i := range 41 {
				k := float64(i) / 40 * math.Min((lim.largest-1)/2, 1-lim.smallest)
				if f.gain(f.square(curves.Blend{Share: k})) > blend.Gain+1e-9 {
					t.Fatalf("normal %g, %v: blend %g gains more than %g", normal, lim, k, blend.Parameter)
				}
				p := 1 + float64(i)/40*(power.Parameter-1)
				if f.gain(f.square(curves.Power{Exponent: p})) > power.Gain+1e-9 {
					t.Fatalf("normal %g, %v: exponent %g gains more than %g", normal, lim, p, power.Parameter)
				}
			}
		}
	}
}

func TestLittleToGainStaysStraight(t *testing.T) {
	d := evenDemand()
	for _, f := range newFitter(&d, newReach(usual())).all() {
		near(t, f.Family+": RMS slope", f.Jitter, 1, 1e-6)
		if f.Family != familyBound && f.Gain != 0 {
			t.Errorf("%s gains %g where nothing is to be gained", f.Family, f.Gain)
		}
	}
}

// Deadband and end margin take throw: limits of dy/du become tighter limits of
// dy/dv, and all slopes that are reported are dy/du.
func TestReachTurnsLimits(t *testing.T) {
	r := newReach(usual(), 0.1, 0.2)
	near(t, "largest dy/dv", r.shape.largest, 3*0.8, 1e-12)
	near(t, "smallest dy/dv", r.shape.smallest, 0.2*0.9, 1e-12)
	tight := newReach(limits{1.1, 0.2}, 0.3)
	near(t, "a limit that even straight breaks", tight.shape.largest, 1, 1e-12)
	d := DefaultDemand(0.5)
	for _, f := range newFitter(&d, r).all() {
		largest := 0.0
		for i := range 1001 {
			largest = math.Max(largest, f.Shape.Slope(float64(i)/1000))
		}
		near(t, f.Family+": largest slope", f.MaxSlope, largest/0.8, 2e-3)
		if f.MaxSlope > 3+1e-6 {
			t.Errorf("%s: largest slope %g", f.Family, f.MaxSlope)
		}
	}
}

func TestLeastAtFindsTheBestOfSeveralMinima(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.Float64Range(0, 3).Draw(t, "at")
		f := func(x float64) float64 { return -math.Exp(-50*(x-at)*(x-at)) - 0.5*math.Exp(-50*(x-1.5)*(x-1.5)) }
		// Where the two wells join, the deeper end is a little off.
		if got := leastAt(f, f, 0, 3); f(got) > f(at)+1e-6 {
			t.Fatalf("got %g (%g), want %g (%g)", got, f(got), at, f(at))
		}
	})
}
