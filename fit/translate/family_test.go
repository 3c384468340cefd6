package translate

import (
	"math"
	"testing"
)

// named finds a family by its name.
func named(t testing.TB, name string) *Family {
	t.Helper()
	for _, f := range Families {
		if f.Name == name {
			return f
		}
	}
	t.Fatalf("there is no family %q", name)
	return nil
}

const (
	powerLinear      = "power with exponent linear in the setting"
	powerExponential = "power with exponent exponential in the setting"
	cubic            = "blend of linear and cubic"
	quadratic        = "blend of linear and quadratic"
	exponential      = "exponential"
	sine             = "sine"
	logisticCentre   = "logistic about the centre"
	logisticHalf     = "logistic about half of the throw"
)

// Values worked out by hand from the formulas: exp(ln 4 · ½) = 2,
// tanh(ln 3) = 0.8, tanh(ln 3 / 2) = ½, artanh(0.4) = ½·ln(7/3).
func TestFamiliesAgainstClosedForms(t *testing.T) {
	for _, c := range []struct {
		name    string
		a, v, y float64
	}{
		{powerLinear, 1, 0.3, 0.09},
		{powerLinear, -0.5, 0.25, 0.5},
		{powerExponential, math.Ln2, 0.3, 0.09},
		{powerExponential, -math.Ln2, 0.25, 0.5},
		{cubic, 0.5, 0.5, 0.3125},
		{cubic, -0.5, 0.5, 0.6875},
		{quadratic, 0.5, 0.5, 0.375},
		{quadratic, -1, 0.5, 0.75},
		{exponential, math.Log(4), 0.5, 1.0 / 3},
		{exponential, -math.Log(4), 0.5, 2.0 / 3},
		{sine, math.Pi / 2, 0.5, 1 - math.Sqrt2/2},
		{sine, -math.Pi / 2, 1.0 / 3, 0.5},
		{logisticCentre, math.Log(3), 0.5, math.Log(7.0/3) / 2 / math.Log(3)},
		{logisticCentre, -math.Log(3), 0.5, 0.625},
		{logisticHalf, math.Log(3), 0.75, 0.8125},
		{logisticHalf, -math.Log(3), 0.8125, 0.75},
	} {
		if got := named(t, c.name).At(c.a, c.v); math.Abs(got-c.y) > 1e-12 {
			t.Errorf("%s at a = %g, v = %g: %.15g, not %.15g", c.name, c.a, c.v, got, c.y)
		}
	}
}

// Every family runs from 0 to 1, never falls, is straight at a = 0 without a
// jump there, and at each position rises or falls all the way with a: Nearest
// rests on the last.
func TestEveryFamilyIsAShape(t *testing.T) {
	const steps = 60
	for _, f := range Families {
		for i := range steps + 1 {
			a := f.Low + (f.High-f.Low)*float64(i)/steps
			if f.At(a, 0) != 0 || f.At(a, 1) != 1 || f.At(a, -1) != 0 || f.At(a, 2) != 1 {
				t.Errorf("%s, a = %g: the ends are not 0 and 1", f.Name, a)
			}
			for k := range steps {
				v := float64(k) / steps
				if f.At(a, v+1.0/steps) < f.At(a, v)-1e-12 {
					t.Errorf("%s, a = %g falls behind v = %g", f.Name, a, v)
				}
			}
		}
		for k := range steps + 1 {
			v := float64(k) / steps
			up, down := false, false
			for i := range steps {
				a := f.Low + (f.High-f.Low)*float64(i)/steps
				d := f.At(a+(f.High-f.Low)/steps, v) - f.At(a, v)
				up, down = up || d > 1e-9, down || d < -1e-9
			}
			if up && down {
				t.Errorf("%s at v = %g both rises and falls with a", f.Name, v)
			}
			for _, a := range []float64{0, 1e-10, 1e-7, -1e-7} {
				if got := f.At(a, v); math.Abs(got-v) > 1e-6 {
					t.Errorf("%s at a = %g, v = %g: %g is not straight", f.Name, a, v, got)
				}
			}
			if v > 0 && v < 1 && f.Name != logisticHalf && !(f.At(0.3, v) < v) {
				t.Errorf("%s with a above 0 is not finer around the centre at v = %g", f.Name, v)
			}
		}
	}
}

// A blend's share runs from −0.5 to 1: at +50 the scale is −0.01…0.02, at −100
// −0.01…0.005.
func TestScalesKeepEverySettingInRange(t *testing.T) {
	low, high := named(t, cubic).scales([]float64{50, 0, -100})
	if math.Abs(low+0.01) > 1e-12 || math.Abs(high-0.005) > 1e-12 {
		t.Errorf("%g to %g", low, high)
	}
}
