package translate

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"halfstick/curves"
)

func response(kind curves.Kind, low, high curves.Shape) *curves.Response {
	r := curves.StraightThrough(kind)
	r.Low, r.High = low, high
	return &r
}

// known is a program that is known for sure.
func known(f *Family, scale, straightAt float64) (*Identified, *Candidate) {
	c := Candidate{Family: f, Scale: scale, ScaleLow: scale, ScaleHigh: scale, Weight: 1, straightAt: straightAt}
	id := &Identified{
		Candidates: []Candidate{c}, Readings: &Readings{Rows: []Reading{{Setting: 50, Position: 0.5, Command: 0.3}}},
		Options: Options{StraightAt: straightAt, ReadingError: 0.005},
	}
	return id, &id.Candidates[0]
}

// A proposal that the program can make exactly is made exactly.
func TestNearestFindsTheProposalItself(t *testing.T) {
	id, c := known(named(t, cubic), 0.01, 3)
	n, err := id.Nearest(c, response(curves.TwoSided, curves.Blend{Share: 0.37}, curves.Blend{Share: 0.37}), Both)
	if err != nil {
		t.Fatal(err)
	}
	if n.Setting != 40 || n.Error > 1e-12 || n.Beyond {
		t.Errorf("%+v", n)
	}
	id, c = known(named(t, powerLinear), -0.01, 0)
	if n, err = id.Nearest(c, response(curves.OneSided, nil, curves.Power{Exponent: 1.6}), Both); err != nil {
		t.Fatal(err)
	}
	if n.Setting != -60 || n.Error > 1e-12 || !n.Beyond {
		t.Errorf("%+v", n)
	}
}

// v² against (1−k)v + kv³: the difference v·(v − (1−k) − kv²) is largest where
// its derivative is 0. For k = 0.6 that is v = (2 − √(4 − 4·3·0.6·0.4))/(6·0.6).
func TestErrorLeftAgainstClosedForm(t *testing.T) {
	id, c := known(named(t, cubic), 0.6, 0)
	id.Options.Settings = &Range{1, 2}
	n, err := id.Nearest(c, response(curves.OneSided, nil, curves.Power{Exponent: 2}), Both)
	if err != nil {
		t.Fatal(err)
	}
	const k = 0.6
	v := (2 - math.Sqrt(4-12*k*(1-k))) / (6 * k)
	want := v * ((1 - k) + k*v*v - v)
	if n.Setting != 1 || math.Abs(n.Error-want) > 1e-6 || math.Abs(n.At-v) > 0.002 || n.Off < 0 {
		t.Errorf("%+v; expected %.6f at %.4f", n, want, v)
	}
}

// No whole number is nearer, for any family, scale and blend or power.
func TestNoWholeNumberIsNearer(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := rapid.SampledFrom(Families).Draw(t, "family")
		scale := rapid.Float64Range(0.004, 0.4).Draw(t, "scale")
		if rapid.Bool().Draw(t, "falling") {
			scale = -scale
		}
		at := rapid.Float64Range(-20, 20).Draw(t, "straight at")
		id, c := known(f, scale, at)
		if rapid.Bool().Draw(t, "limited") {
			id.Options.Settings = &Range{-25, 25}
		}
		shape := func(name string) curves.Shape {
			if rapid.Bool().Draw(t, name+" power") {
				return curves.Power{Exponent: rapid.Float64Range(0.6, 3).Draw(t, name)}
			}
			return curves.Blend{Share: rapid.Float64Range(-0.5, 1).Draw(t, name)}
		}
		r := response(curves.TwoSided, shape("low"), shape("high"))
		n, err := id.Nearest(c, r, Both)
		within, none := id.wholeNumbers(c)
		if err != nil || none != nil {
			if (err == nil) != (none == nil) {
				t.Fatal(err, none)
			}
			return
		}
		targets := targetsOf(r, Both)
		for s := max(within.Low, n.Setting-30); s <= min(within.High, n.Setting+30); s++ {
			if off, _ := farthest(f, c.parameter(float64(s)), targets); math.Abs(off) < n.Error-1e-9 {
				t.Fatalf("setting %d leaves %g, but %d was chosen with %g", s, off, n.Setting, n.Error)
			}
		}
	})
}

// Each side alone has its own setting; together they share one between.
func TestSidesApart(t *testing.T) {
	id, c := known(named(t, cubic), 0.01, 0)
	r := response(curves.TwoSided, curves.Blend{Share: 0.2}, curves.Blend{Share: 0.6})
	r.Deadband = curves.Sides{Low: 0.1, High: 0.2}
	for side, want := range map[Side]int{Low: 20, High: 60, Both: 40} {
		n, err := id.Nearest(c, r, side)
		if err != nil {
			t.Fatal(err)
		}
		// Read were settings from 0 to 50.
		if n.Setting != want || n.Beyond != (want > 50) {
			t.Errorf("%s: %+v", side, n)
		}
		if side != Both {
			continue
		}
		// 0.2·(v − v³) is largest at v = 1/√3, on the high side u = 0.2 + 0.8·v.
		v := 1 / math.Sqrt(3)
		if math.Abs(n.Error-0.2*(v-v*v*v)) > 1e-6 || (math.Abs(n.At-(0.2+0.8*v)) > 0.002 && math.Abs(n.At+0.1+0.9*v) > 0.002) {
			t.Errorf("%+v", n)
		}
	}
}

// A straight program against a straight proposal differs by the deadband alone
// where it has none: most at its corner.
func TestErrorWithoutDeadband(t *testing.T) {
	id, c := known(named(t, cubic), 0.01, 0)
	r := response(curves.TwoSided, curves.Straight{}, curves.Straight{})
	r.Deadband = curves.Sides{Low: 0.06, High: 0.02}
	n, err := id.Nearest(c, r, Both)
	if err != nil {
		t.Fatal(err)
	}
	if n.Setting != 0 || n.Error != 0 || math.Abs(n.ErrorBare-0.06) > 1e-9 {
		t.Errorf("%+v", n)
	}
	if n, _ = id.Nearest(c, r, High); math.Abs(n.ErrorBare-0.02) > 1e-9 {
		t.Errorf("high side: %+v", n)
	}
}

// What the readings leave open of the scale shows in the error.
func TestScaleIntervalShowsInTheError(t *testing.T) {
	id, c := known(named(t, cubic), 0.01, 0)
	c.ScaleLow, c.ScaleHigh = 0.008, 0.011
	n, err := id.Nearest(c, response(curves.OneSided, nil, curves.Blend{Share: 0.5}), Both)
	if err != nil {
		t.Fatal(err)
	}
	v := 1 / math.Sqrt(3)
	if want := 0.1 * (v - v*v*v); math.Abs(n.ErrorHigh-want) > 1e-6 {
		t.Errorf("%+v; expected up to %g", n, want)
	}
}

func TestNearestRefuses(t *testing.T) {
	id, c := known(named(t, cubic), 0.01, 0)
	id.Options.Settings = &Range{200, 300}
	r := response(curves.OneSided, nil, curves.Straight{})
	if _, err := id.Nearest(c, r, Both); err == nil || !strings.HasPrefix(err.Error(), "no whole number that the program accepts") {
		t.Error(err)
	}
	c.Scale = 0
	if _, err := id.Nearest(c, r, Both); err == nil || !strings.Contains(err.Error(), "changes nothing") {
		t.Error(err)
	}
}
