package propose

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"halfstick/curves"
	"halfstick/fit/measure"
	"halfstick/input"
)

// proposalOf proposes for axes of one empty recording.
func proposalOf(t *testing.T, opts Options, axes ...measure.Axis) *Proposal {
	t.Helper()
	r := newRecorded(20, input.TwoSided)
	for i, a := range axes {
		d := &r.rec.Header.Devices[0]
		d.Axes = append(d.Axes, input.Axis{Label: a.Label, Index: i, Kind: input.Kind(a.Kind)})
		r.rec.Columns = append(r.rec.Columns, input.Column{Axis: i})
	}
	p, err := Axes([]*input.Recording{r.rec}, []*measure.Measurement{measurementOf(axes...)}, opts)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// Common practice, no source: a blend of about a third to a half on a quiet
// stick; a worn axis gets a wider deadband and at least as much help.
func TestQuietStickAndWornRudder(t *testing.T) {
	worn := measuredAxis("rudder")
	worn.Rest.Sigma, worn.Return.FromHigh = quantity(130, 5, 1000), returnSide(1500, 150)
	p := proposalOf(t, Defaults(), measuredAxis("pitch"), worn)
	stick, rudder := p.Axes[0], p.Axes[1]
	if stick.Chosen != familyBlend {
		t.Fatalf("chosen %q", stick.Chosen)
	}
	within(t, "blend", stick.Profile.Response.High.(curves.Blend).Share, 1.0/3, 0.55)
	s, r := stick.Profile.Response.Deadband, rudder.Profile.Response.Deadband
	if r.Low <= s.Low || r.High <= s.High || r.High < 2*s.High {
		t.Errorf("deadband of the stick %v, of the worn rudder %v", s, r)
	}
	if rudder.Profile.Response.High.(curves.Blend).Share < stick.Profile.Response.High.(curves.Blend).Share-1e-3 {
		t.Errorf("the worn rudder gets less help: %v", rudder.Profile.Response.High)
	}
	for _, a := range p.Axes {
		if a.ResolutionAfter < a.ResolutionBefore+0.1 || a.LevelsAfter <= a.LevelsBefore {
			t.Errorf("%s: resolution %g after %g, levels %g after %g", a.Profile.Label,
				a.ResolutionAfter, a.ResolutionBefore, a.LevelsAfter, a.LevelsBefore)
		}
		if a.Jitter[0].After > 0.01*a.Jitter[0].Before || a.Jitter[2].After < a.Jitter[2].Before {
			t.Errorf("%s: jitter %+v", a.Profile.Label, a.Jitter)
		}
		largest := 0.0
		for i := range 2001 {
			largest = math.Max(largest, a.Profile.Response.Slope(float64(i-1000)/1000))
		}
		within(t, "largest slope of the response", largest, 1, 3)
	}
}

func TestShapesThatWereAskedFor(t *testing.T) {
	for _, family := range []string{familyPower, familyBlend, familyPoints, familyStraight} {
		opts := Defaults()
		opts.Shape = family
		a := proposalOf(t, opts, measuredAxis("pitch")).Axes[0]
		if got := a.Profile.Response.Low.Name(); a.Chosen != family || got != family {
			t.Errorf("asked for %s, chose %s, shape %s", family, a.Chosen, got)
		}
		if len(a.Fits) != 5 || a.Fits[4].Family != familyBound {
			t.Errorf("fits %+v", a.Fits)
		}
	}
}

func TestProposedProfileCanBeWrittenAndReadBack(t *testing.T) {
	opts := Defaults()
	opts.Shape = familyPoints
	p := proposalOf(t, opts, measuredAxis("pitch"), leverAxis("lever"))
	var file bytes.Buffer
	if err := p.Profile().Write(&file); err != nil {
		t.Fatal(err)
	}
	back, err := curves.ParseProfile(file.Bytes(), "back")
	if err != nil {
		t.Fatal(err)
	}
	a, err := back.Axis("pitch")
	if err != nil {
		t.Fatal(err)
	}
	if a.Device != (curves.DeviceRef{Name: "Example Stick", GUID: "0300"}) || len(a.Reasons) < 6 {
		t.Errorf("device %+v, %d reasons", a.Device, len(a.Reasons))
	}
	for _, u := range []float64{-1, -0.4, 0, 0.01, 0.3, 1} {
		near(t, "command", a.Response.Command(u), p.Axes[0].Profile.Response.Command(u), 1e-9)
	}
	if _, err := json.Marshal(p); err != nil {
		t.Errorf("the proposal as JSON: %v", err)
	}
}

func TestWhatCouldNotBeMeasuredStaysStraight(t *testing.T) {
	noTravel, noRest, noCentre, swapped := measuredAxis("a"), measuredAxis("b"), measuredAxis("c"), measuredAxis("d")
	noTravel.Travel.High, noRest.Rest.Sigma, noCentre.Travel.Centre = nil, nil, nil
	noTravel.Notes = []string{"travel: no sweep"}
	swapped.Travel.Centre = quantity(40000, 1, 1)
	p := proposalOf(t, Defaults(), noTravel, noRest, noCentre, swapped)
	for i, want := range []string{"the travel could not be measured (travel: no sweep)", "the rest noise", "the centre", "the usable travel"} {
		a := p.Axes[i]
		r := a.Profile.Response
		if a.Chosen != familyStraight || r.Deadband != (curves.Sides{}) || r.High.At(0.3) != 0.3 || r.Low.At(0.3) != 0.3 {
			t.Errorf("%s: %+v", a.Profile.Label, r)
		}
		if len(a.Reasons) != 1 || !strings.Contains(a.Reasons[0], want) {
			t.Errorf("%s: reasons %q, want %q", a.Profile.Label, a.Reasons, want)
		}
	}
	if c := p.Axes[1].Profile.Response.Calibration; c.Low != -29900 {
		t.Errorf("calibration %+v", c)
	}
}

func TestLeverStaysStraightAndBrakeIsShapedByItsFlight(t *testing.T) {
	lever := proposalOf(t, Defaults(), leverAxis("lever")).Axes[0]
	if lever.Chosen != familyStraight || !strings.Contains(strings.Join(lever.Reasons, "\n"), "no centre") {
		t.Errorf("chose %s: %q", lever.Chosen, lever.Reasons)
	}
	r := newRecorded(20, input.OneSided, "brake")
	r.add(input.Flight, 1200, func(t float64) float64 { return -32000 + 64000*0.15*math.Abs(math.Sin(t/3)) })
	p, err := Axes([]*input.Recording{r.rec}, []*measure.Measurement{measurementOf(leverAxis("brake"))}, Defaults())
	if err != nil {
		t.Fatal(err)
	}
	brake := p.Axes[0]
	if brake.Chosen == familyStraight || brake.Profile.Response.High.At(0.3) >= 0.3 || brake.Profile.Response.Low.At(0.3) != 0.3 {
		t.Errorf("chose %s: %v", brake.Chosen, brake.Profile.Response)
	}
}

// The second recording fills in what the first did not measure, and both are
// flown.
func TestSeveralRecordingsOfOneAxis(t *testing.T) {
	first, second := measuredAxis("pitch"), measuredAxis("pitch")
	first.Rest, first.Return = measure.Rest{}, measure.Return{}
	second.Travel, second.Timing = measure.Travel{}, measure.Timing{}
	a, b := newRecorded(20, input.TwoSided, "pitch"), newRecorded(20, input.TwoSided, "pitch")
	a.add(input.Flight, 300, gaussianFlight(0.2))
	b.add(input.Flight, 300, gaussianFlight(0.2))
	ms := []*measure.Measurement{measurementOf(first), measurementOf(second)}
	p, err := Axes([]*input.Recording{a.rec, b.rec}, ms, Defaults())
	if err != nil {
		t.Fatal(err)
	}
	if len(p.Axes) != 1 {
		t.Fatalf("%d axes", len(p.Axes))
	}
	near(t, "minutes", p.Axes[0].Demand.Minutes, 10, 1e-2)
	whole := proposalOf(t, Defaults(), measuredAxis("pitch")).Axes[0]
	if p.Axes[0].Profile.Response.Deadband != whole.Profile.Response.Deadband {
		t.Errorf("deadband %v, want %v", p.Axes[0].Profile.Response.Deadband, whole.Profile.Response.Deadband)
	}
	b.rec.Header.Devices[0].GUID = "0301"
	if _, err := Axes([]*input.Recording{a.rec, b.rec}, ms, Defaults()); err == nil || !strings.Contains(err.Error(), "different labels") {
		t.Errorf("one label on two devices: %v", err)
	}
}

func TestAxesErrors(t *testing.T) {
	bad := Defaults()
	bad.Shape = "wavy"
	r := newRecorded(20, input.TwoSided, "pitch")
	recs, ms := []*input.Recording{r.rec}, []*measure.Measurement{measurementOf(measuredAxis("pitch"))}
	broken := newRecorded(20, input.TwoSided, "pitch")
	broken.add(input.Flight, 1, func(float64) float64 { return 0 })
	broken.rec.Header.FlownWith = json.RawMessage(`[]`)
	for _, c := range []struct {
		recs []*input.Recording
		ms   []*measure.Measurement
		opts Options
		want string
	}{
		{recs, ms, bad, `shape "wavy" is not known`},
		{recs, nil, Defaults(), "1 recordings but 0 measurements"},
		{recs, []*measure.Measurement{measurementOf()}, Defaults(), "no axis was measured"},
		{[]*input.Recording{broken.rec}, ms, Defaults(), "flown_with"},
	} {
		if _, err := Axes(c.recs, c.ms, c.opts); err == nil || !strings.Contains(err.Error(), c.want) {
			t.Errorf("got %v, want %q", err, c.want)
		}
	}
}

// Axes are proposed at once, but come in their order, as does the first that fails.
func TestAxesKeepTheirOrder(t *testing.T) {
	labels := []string{"a", "b", "c", "d", "e", "f", "g", "h"}
	r := newRecorded(20, input.TwoSided, labels...)
	r.add(input.Flight, 60, func(float64) float64 { return 100 })
	var axes []measure.Axis
	for _, l := range labels {
		axes = append(axes, measuredAxis(l))
	}
	propose := func() (*Proposal, error) {
		return Axes([]*input.Recording{r.rec}, []*measure.Measurement{measurementOf(axes...)}, Defaults())
	}
	p, err := propose()
	if err != nil {
		t.Fatal(err)
	}
	for i, a := range p.Axes {
		if a.Measured.Label != labels[i] || a.Profile.Label != labels[i] {
			t.Errorf("axis %d is %s with the profile of %s, want %s", i, a.Measured.Label, a.Profile.Label, labels[i])
		}
	}
	r.rec.Header.FlownWith = json.RawMessage(`{"format":"something else"}`)
	for range 20 {
		if _, err := propose(); err == nil || !strings.HasPrefix(err.Error(), "axis a: ") {
			t.Fatalf("all axes fail, and the error is %v, want that of axis a", err)
		}
	}
}

func TestOptionsCheck(t *testing.T) {
	if err := Defaults().Check(); err != nil {
		t.Errorf("defaults: %v", err)
	}
	for _, change := range []func(*Options){
		func(o *Options) { o.Normal = 0 }, func(o *Options) { o.Normal = 1.1 }, func(o *Options) { o.Normal = math.NaN() },
		func(o *Options) { o.MaxSlope = 0.9 }, func(o *Options) { o.MaxSlope = 21 }, func(o *Options) { o.MinSlope = -0.1 },
		func(o *Options) { o.MinSlope = 1.1 }, func(o *Options) { o.FalseMotions = 0 }, func(o *Options) { o.FalseMotions = 1001 },
		func(o *Options) { o.Shape = "bound" },
	} {
		o := Defaults()
		change(&o)
		if o.Check() == nil {
			t.Errorf("%+v was accepted", o)
		}
	}
	if (Options{}).Check() == nil {
		t.Error("the zero options were accepted")
	}
}

// The limit is one of dy/du: deadband and end margin count.
func TestLargestSlopeIsKeptByTheResponse(t *testing.T) {
	opts := Defaults()
	opts.MaxSlope = 1.5
	r := proposalOf(t, opts, measuredAxis("pitch")).Axes[0].Profile.Response
	largest := 0.0
	for i := range 4001 {
		largest = math.Max(largest, r.Slope(float64(i-2000)/2000))
	}
	within(t, "largest slope", largest, 1.48, 1.5+1e-9)
}

// What a proposal of one axis takes, of its flight the intervals included.
// Eighteen minutes of flight at 50 rows a second, and an hour at 1000.
func BenchmarkAxes(b *testing.B) {
	for _, c := range []struct {
		name        string
		hz, seconds float64
	}{{"18min50Hz", 50, 1080}, {"60min1000Hz", 1000, 3600}} {
		b.Run(c.name, func(b *testing.B) {
			rng := rand.New(rand.NewPCG(3, 3))
			r := newRecorded(c.hz, input.TwoSided, "pitch")
			y, keep := 0.0, math.Pow(0.995, 50/c.hz)
			r.add(input.Flight, c.seconds, func(float64) float64 {
				y = keep*y + math.Sqrt(1-keep*keep)*rng.NormFloat64()
				return 100 + 6000*y
			})
			recs, ms := []*input.Recording{r.rec}, []*measure.Measurement{measurementOf(measuredAxis("pitch"))}
			for b.Loop() {
				if _, err := Axes(recs, ms, Defaults()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
