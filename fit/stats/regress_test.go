package stats

import "testing"

type xy struct{ X, Y []float64 }

func TestNorris(t *testing.T) {
	var in xy
	var want struct{ B0, B1 float64 }
	load(t, "nist_regression", "nist.lls.Norris", &in, &want)
	l, err := LinearRegression(in.X, in.Y)
	if err != nil {
		t.Fatal(err)
	}
	wantRel(t, "B0", l.Intercept, want.B0, 1e-10)
	wantRel(t, "B1", l.Slope, want.B1, 1e-10)
	p, err := PolyFit(in.X, in.Y, 1)
	if err != nil {
		t.Fatal(err)
	}
	wantRel(t, "poly B0", p.Coef[0], want.B0, 1e-10)
	wantRel(t, "poly B1", p.Coef[1], want.B1, 1e-10)
	// Two formulas for the same standard errors.
	wantRel(t, "SE B0", l.InterceptSE, p.SE[0], 1e-10)
	wantRel(t, "SE B1", l.SlopeSE, p.SE[1], 1e-10)
	_, high := p.Interval(1, 0.95)
	wantRel(t, "half", high-p.Coef[1], 2.032245*p.SE[1], 1e-6) // t₃₄ at 0.975, from memory
}

func TestPontius(t *testing.T) {
	var in xy
	var want struct {
		Params []float64
		SD     []float64 `json:"param_sd"`
		RSS    float64
	}
	load(t, "nist_regression", "nist.lls.Pontius", &in, &want)
	p, err := PolyFit(in.X, in.Y, 2)
	if err != nil {
		t.Fatal(err)
	}
	for j, w := range want.Params {
		wantRel(t, "coefficient", p.Coef[j], w, 1e-10)
		wantRel(t, "standard error", p.SE[j], want.SD[j], 1e-10)
	}
	wantRel(t, "RSS", p.RSS, want.RSS, 1e-10)
	wantRel(t, "value", p.At(2e6), want.Params[0]+2e6*want.Params[1]+4e12*want.Params[2], 1e-10)
}

func TestFitErrors(t *testing.T) {
	same := []float64{2, 2, 2, 2}
	y := []float64{1, 2, 3, 4}
	for name, err := range map[string]error{
		"line over one x":     second(LinearRegression(same, y)),
		"line of two":         second(LinearRegression(y[:2], y[:2])),
		"parabola over one x": second(PolyFit(same, y, 2)),
		"parabola of two":     second(PolyFit(y[:2], y[:2], 2)),
		"lengths":             second(PolyFit(y, y[:3], 1)),
		"even window":         second(SavitzkyGolay(4, 2, 0)),
		"tail of nine":        second(PeaksOverThreshold([]float64{1, 2, 3, 4, 5, 6, 7, 8, 9}, 0)),
	} {
		if err == nil {
			t.Errorf("%s: no error", name)
		}
	}
}

func second[T any](_ T, err error) error { return err }
