package stats

import (
	"fmt"
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestCrossingAR1(t *testing.T) {
	var want []struct {
		Rho, H float64
		Up     float64 `json:"p_up"`
		Exit   float64 `json:"p_exit_two_sided"`
		Exceed float64 `json:"p_exceed_2sided"`
	}
	load(t, "crossing", "cross.ar1", nil, &want)
	if len(want) != 42 {
		t.Fatalf("%d rows", len(want))
	}
	for _, w := range want {
		what := fmt.Sprintf("rho=%g h=%g", w.Rho, w.H)
		wantRel(t, what+" up", UpRate(w.H, w.Rho), w.Up, 1e-10)
		// At h = 0 the published zero carries rounding error.
		wantAbs(t, what+" exit", ExitRate(w.H, w.Rho), w.Exit, 1e-10*w.Exit+1e-15)
		wantRel(t, what+" exceed", 2*upperTail(w.H), w.Exceed, 1e-12)
	}
}

func TestCrossingInverse(t *testing.T) {
	var want []struct {
		FS, Rho float64
		Exits   float64 `json:"exits_per_min"`
		H       float64 `json:"h_sigma"`
	}
	load(t, "crossing", "cross.inverse", nil, &want)
	if len(want) != 45 {
		t.Fatalf("%d rows", len(want))
	}
	for _, w := range want {
		wantAbs(t, fmt.Sprintf("%+v", w), ExcursionForRate(w.Exits, w.FS, w.Rho), w.H, 1e-8)
	}
	if h := ExcursionForRate(1e6, 60, 0); h != 0 {
		t.Errorf("a rate the noise never reaches wants %g", h)
	}
}

// TestOwenT checks Owen's identities, which no table is needed for:
// T(h,1) = Φ(h)Φ(−h)/2, the reflection a → 1/a, and the signs; and Simpson's
// rule on the definition, an independent quadrature.
func TestOwenT(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		h := rapid.Float64Range(0, 7).Draw(t, "h")
		a := math.Exp(rapid.Float64Range(-7, 4).Draw(t, "log a"))
		got := OwenT(h, a)
		close := func(what string, x, y float64) {
			if math.Abs(x-y) > 1e-12*math.Abs(y)+1e-16 {
				t.Fatalf("%s at h=%g a=%g: %.16g, want %.16g", what, h, a, x, y)
			}
		}
		close("simpson", got, owenSimpson(h, a))
		close("T(h,1)", OwenT(h, 1), upperTail(h)*upperTail(-h)/2)
		p, q := upperTail(h), upperTail(a*h)
		if d := got + OwenT(a*h, 1/a) - (p+q)/2 + p*q; math.Abs(d) > 1e-15 {
			t.Fatalf("reflection at h=%g a=%g off by %g", h, a, d)
		}
		if OwenT(-h, a) != got || OwenT(h, -a) != -got {
			t.Fatalf("signs at h=%g a=%g", h, a)
		}
	})
	wantRel(t, "a=Inf", OwenT(1.5, math.Inf(1)), upperTail(1.5)/2, 1e-15)
	wantRel(t, "large h, a=Inf", OwenT(0.3, 1e12), upperTail(0.3)/2, 1e-11)
}

// owenSimpson integrates in the angle, t = tan θ.
func owenSimpson(h, a float64) float64 {
	const n = 20000
	end := math.Atan(a)
	f := func(i int) float64 {
		tan := math.Tan(end * float64(i) / n)
		return math.Exp(-h * h * tan * tan / 2)
	}
	s := f(0) + f(n)
	for i := 1; i < n; i++ {
		s += float64(2+2*(i%2)) * f(i)
	}
	return math.Exp(-h*h/2) * s * end / (3 * n) / (2 * math.Pi)
}

// TestExitRateSimulated counts exits of a simulated sequence.
func TestExitRateSimulated(t *testing.T) {
	for _, rho := range []float64{-0.5, 0, 0.6, 0.95} {
		const n, h = 400000, 1.7
		x := correlated(random(5), n, rho)
		exits := 0
		for i := 1; i < n; i++ {
			if math.Abs(x[i-1]) <= h && math.Abs(x[i]) > h {
				exits++
			}
		}
		wantRel(t, fmt.Sprint("rho=", rho), float64(exits)/n, ExitRate(h, rho), 0.03)
	}
}
