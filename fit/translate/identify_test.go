package translate

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"gonum.org/v1/gonum/stat/distuv"
)

// plan is where readings are taken.
type plan struct{ settings, positions []float64 }

var threeByThree = plan{[]float64{25, 55, 90}, []float64{0.27, 0.52, 0.78}}

// noted simulates readings of a program whose number makes the family with the
// given scale, rounded to multiples of step (a share) as a person notes them.
func noted(f *Family, scale, straightAt float64, p plan, step float64) *Readings {
	r := &Readings{File: "noted.csv"}
	for _, s := range p.settings {
		for _, v := range p.positions {
			r.Rows = append(r.Rows, Reading{
				Setting: s, Position: rounded(v, step), Command: rounded(f.At(scale*(s-straightAt), v), step), Line: len(r.Rows) + 2,
			})
		}
	}
	return r
}

func rounded(x, step float64) float64 {
	if step == 0 {
		return x
	}
	return math.Round(x/step) * step
}

var whole = Options{ReadingError: 0.005}

func identify(t testing.TB, r *Readings, o Options) *Identified {
	t.Helper()
	id, err := Identify(r, o)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// From nine readings in whole percents every family is found again, finer or
// coarser, with its scale, and surely.
func TestEveryFamilyIsRecovered(t *testing.T) {
	for _, f := range Families {
		for _, direction := range []float64{1, -1} {
			reach := f.High
			if direction < 0 {
				reach = -f.Low
			}
			scale := direction * 0.9 * math.Min(reach, 2.5) / 90
			for _, straightAt := range []float64{0, -10, 30} {
				for _, step := range []float64{0, 0.001, 0.01} {
					name := fmt.Sprintf("%s, scale %.3g, straight at %g, rounded to %g", f.Name, scale, straightAt, step)
					plan := threeByThree
					switch straightAt {
					case -10:
						plan.settings = []float64{15, 45, 80}
					case 30: // on both sides of it
						plan.settings = []float64{0, 60, 110}
					}
					o := Options{StraightAt: straightAt, ReadingError: math.Max(step/2, 1e-4)}
					id := identify(t, noted(f, scale, straightAt, plan, step), o)
					best := id.Best()
					if best.Family != f || id.Verdict() != "sure" {
						t.Errorf("%s: found %s (%.3f), then %s (%.3f)", name, best.Name, best.Weight, id.Candidates[1].Name, id.Candidates[1].Weight)
						continue
					}
					if step == 0 && math.Abs(best.Scale/scale-1) > 1e-6 {
						t.Errorf("%s: scale %g from exact readings", name, best.Scale)
					}
					// A 95 % interval may miss now and then, but not by its own width.
					if wide := best.ScaleHigh - best.ScaleLow; scale < best.ScaleLow-wide || scale > best.ScaleHigh+wide {
						t.Errorf("%s: interval %g to %g", name, best.ScaleLow, best.ScaleHigh)
					}
				}
			}
		}
	}
}

// Over programs drawn at random: what is called sure is right at least as often
// as that, a family that was left out is hardly ever the right one, and the
// scale's interval holds the truth.
func TestWeightsAndIntervalsKeepTheirPromise(t *testing.T) {
	random := rand.New(rand.NewPCG(4, 7))
	sure, right, covered, heldBack, drawn := 0, 0, 0, 0, 0
	for drawn < 250 {
		f := Families[random.IntN(len(Families))]
		scale := (f.Low + (f.High-f.Low)*random.Float64()) / 80
		var p plan
		for range 1 + random.IntN(3) {
			p.settings = append(p.settings, float64(10+random.IntN(70)))
		}
		var r Readings
		for range 1 + random.IntN(9) {
			// Nobody holds the same position twice.
			s := p.settings[random.IntN(len(p.settings))]
			one := noted(f, scale, 0, plan{[]float64{s}, []float64{0.1 + 0.8*random.Float64()}}, 0.01)
			r.Rows = append(r.Rows, one.Rows...)
		}
		id, err := Identify(&r, whole)
		if err != nil {
			if !strings.Contains(err.Error(), "straight") {
				t.Errorf("%s, scale %g: %v", f.Name, scale, err)
			}
			continue
		}
		drawn++
		possible := false
		for _, c := range id.Possible() {
			possible = possible || c.Family == f
		}
		if !possible {
			heldBack++
		}
		for _, c := range id.Candidates {
			if c.Family == f && scale >= c.ScaleLow && scale <= c.ScaleHigh {
				covered++
			}
		}
		if id.Verdict() == "sure" {
			sure++
			if id.Best().Family == f {
				right++
			}
		}
	}
	t.Logf("of %d: %d sure, of which %d right; the right one left out %d times; interval held it %d times", drawn, sure, right, heldBack, covered)
	if sure < 50 || float64(right) < 0.95*float64(sure) {
		t.Errorf("%d of %d called sure were right", right, sure)
	}
	if float64(heldBack) > 0.05*float64(drawn) {
		t.Errorf("the right family was left out %d times of %d", heldBack, drawn)
	}
	// Over 6000 draws it is 94.6 %; here three standard deviations of a count less.
	if n := float64(drawn); float64(covered) < 0.95*n-3*math.Sqrt(0.95*0.05*n) {
		t.Errorf("the interval held the truth %d times of %d", covered, drawn)
	}
}

func TestChiSquareQuantile(t *testing.T) {
	if got := (distuv.ChiSquared{K: 1}).Survival(chiSquare95); math.Abs(got-0.05) > 1e-12 {
		t.Errorf("%g lies above", got)
	}
}

// One reading fits nearly everything, and that is what is said.
func TestOneReadingSettlesNothing(t *testing.T) {
	r := noted(named(t, exponential), 0.03, 0, plan{[]float64{50}, []float64{0.5}}, 0.01)
	id := identify(t, r, whole)
	if id.Verdict() != "open" || len(id.Possible()) != 7 {
		t.Errorf("%s with %d possible families", id.Verdict(), len(id.Possible()))
	}
	for _, c := range id.Possible() {
		if math.Abs(c.Weight-1.0/7) > 0.01 {
			t.Errorf("%s has the weight %.3f", c.Name, c.Weight)
		}
	}
	if id.Further == nil {
		t.Fatal("no further reading is advised")
	}
}

// At one setting the two power families are the same shape; a reading as
// advised, at another setting, tells them apart.
func TestFurtherReadingSettles(t *testing.T) {
	truth := named(t, powerExponential)
	const scale = 0.02
	r := noted(truth, scale, 0, plan{[]float64{40}, []float64{0.3, 0.5, 0.7}}, 0.01)
	id := identify(t, r, whole)
	if id.Verdict() != "open" || math.Abs(id.Candidates[0].Weight-id.Candidates[1].Weight) > 1e-6 {
		t.Fatalf("%s: %.4f and %.4f", id.Verdict(), id.Candidates[0].Weight, id.Candidates[1].Weight)
	}
	more := id.Further
	if more == nil || more.Setting < 60 || more.Setting > 80 || !more.Beyond {
		t.Fatalf("the further reading is %+v", more)
	}
	if d := math.Abs(more.First - more.Second); d < 0.04 {
		t.Errorf("the further reading %+v differs by %g only", more, d)
	}
	// No other within reach differs more.
	first, second := &id.Candidates[0], &id.Candidates[1]
	for s := 0; s <= 80; s++ {
		for k := 1; k < 20; k++ {
			v := float64(k) / 20
			if d := math.Abs(first.Command(float64(s), v) - second.Command(float64(s), v)); d > math.Abs(more.First-more.Second)+1e-12 {
				t.Fatalf("setting %d, position %g would differ by %g, more than %+v", s, v, d, more)
			}
		}
	}
	y := truth.At(scale*float64(more.Setting), more.Position)
	r.Rows = append(r.Rows, Reading{float64(more.Setting), more.Position, rounded(y, 0.01), 9})
	if id = identify(t, r, whole); id.Best().Family != truth || id.Best().Weight < 0.95 {
		t.Errorf("after it: %s with %.3f", id.Best().Name, id.Best().Weight)
	}
	// Where the program goes no further than 45, the advice stays below that.
	r.Rows = r.Rows[:3]
	o := whole
	o.Settings = &Range{0, 45}
	if more = identify(t, r, o).Further; more == nil || more.Setting > 45 || more.Beyond {
		t.Errorf("within 0 to 45: %+v", more)
	}
	o.Settings.High = 60
	if more = identify(t, r, o).Further; more == nil || more.Setting <= 45 || more.Beyond {
		t.Errorf("within 0 to 60: %+v", more)
	}
	// Between the straight setting and one that was read nothing need be asked.
	r = noted(truth, scale, 0, plan{[]float64{90}, []float64{0.3, 0.5, 0.7}}, 0.01)
	if id = identify(t, r, whole); id.Further == nil || id.Further.Beyond != (id.Further.Setting > 90) {
		t.Errorf("read at 90: %+v", id.Further)
	}
}

func TestIdentifyRefuses(t *testing.T) {
	f := named(t, cubic)
	good := noted(f, 0.01, 0, threeByThree, 0.01)
	wrong := noted(f, 0.01, 0, threeByThree, 0.01)
	wrong.Rows[4].Command += 0.12
	for _, c := range []struct {
		name string
		r    *Readings
		o    Options
		want string
	}{
		{"all at the straight setting", noted(f, 0.01, 0, plan{[]float64{0}, []float64{0.5}}, 0.01), whole,
			"noted.csv:2: every reading is at setting 0, where the program is taken to be straight; read at another"},
		{"straight", noted(f, 0.0001, 0, threeByThree, 0.01), whole,
			"noted.csv: the readings cannot be told from a straight line; read at settings farther from 0"},
		{"a wrong reading", wrong, whole, "noted.csv:6: no family of shapes fits the readings; the nearest, blend of linear and cubic, makes "},
		{"straight elsewhere", noted(f, 0.01, 50, threeByThree, 0.01), whole,
			"noted.csv:3: no family of shapes fits the readings; the nearest, sine, makes "},
		{"outside the settings", good, Options{ReadingError: 0.005, Settings: &Range{0, 60}},
			"noted.csv:8: setting 90 is not within the settings 0 to 60"},
		{"no reading error", good, Options{}, "the reading error is 0 %, expected above 0"},
		{"a huge reading error", good, Options{ReadingError: 0.2}, "the reading error is 20 %"},
		{"settings turned round", good, Options{ReadingError: 0.005, Settings: &Range{60, 0}}, "the settings run from 60 to 0; give the lower"},
		{"endless straight setting", good, Options{ReadingError: 0.005, StraightAt: math.Inf(1)}, "the straight setting is +Inf"},
		{"no straight setting", good, Options{ReadingError: 0.005, StraightAt: math.NaN()}, "the straight setting is NaN"},
	} {
		if _, err := Identify(c.r, c.o); err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%s: %v\nexpected %s", c.name, err, c.want)
		}
	}
	_, err := Identify(noted(f, 0.01, 50, threeByThree, 0.01), whole)
	if want := "They would fit blend of linear and cubic if the program is straight at setting 50;"; err == nil || !strings.Contains(err.Error(), want) {
		t.Errorf("straight elsewhere: %v\nexpected %s", err, want)
	}
	// The same wrong reading is taken with an error that large, and the readings
	// that are straight elsewhere once that is said.
	identify(t, wrong, Options{ReadingError: 0.08})
	if id := identify(t, noted(f, 0.01, 50, threeByThree, 0.01), Options{ReadingError: 0.005, StraightAt: 50}); id.Best().Family != f {
		t.Errorf("straight at 50: %s", id.Best().Name)
	}
}
