package propose

import (
	"bytes"
	"encoding/json"
	"math"
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/integrate"
	"halfstick/curves"
	"halfstick/fit/measure"
	"halfstick/input"
)

func calibratedFixture(t *testing.T) curves.Response {
	t.Helper()
	m := measuredAxis("pitch")
	r, missing := calibrated(&m)
	if missing != "" {
		t.Fatal(missing)
	}
	return r
}

func demandOf(t *testing.T, r *recorded, now curves.Response, opts Options) Demand {
	t.Helper()
	f := flightOf(t, r, now, opts)
	d := f.tally(bothTogether).demand(DefaultDemand(opts.Normal))
	d.Holds = f.holds
	return d
}

func flightOf(t *testing.T, r *recorded, now curves.Response, opts Options) flownAxis {
	t.Helper()
	f, err := flightsOf([]*input.Recording{r.rec}).of("pitch", now, opts)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// gaussianFlight holds a new command of deviation sigma (of half-throw) every
// second.
func gaussianFlight(sigma float64) func(t float64) float64 {
	rng := rand.New(rand.NewPCG(3, 4))
	second, at := -1, 0.0
	return func(t float64) float64 {
		if int(t) != second {
			second, at = int(t), sigma*rng.NormFloat64()
		}
		return 100 + 30000*at
	}
}

func TestDefaultDemandHolds95PercentInsideNormal(t *testing.T) {
	for _, normal := range []float64{0.2, 0.3, 0.5} {
		d := DefaultDemand(normal)
		near(t, "integral", integrate.Trapezoidal(d.Y, d.P), 1, 1e-12)
		near(t, "σ_y", d.SigmaY, normal/1.96, 1e-12)
		k := int(normal*cells + 0.5)
		near(t, "inside normal", integrate.Trapezoidal(d.Y[:k+1], d.P[:k+1]), 0.95, 1e-3)
	}
}

func TestFlightWeighsByItsMinutes(t *testing.T) {
	r := newRecorded(20, input.TwoSided, "pitch")
	r.add(input.Flight, 1200, gaussianFlight(0.15))
	d := demandOf(t, r, calibratedFixture(t), Defaults())
	near(t, "minutes", d.Minutes, 20, 1e-3)
	near(t, "weight", d.Weight, 20.0/30, 1e-3)
	near(t, "integral", integrate.Trapezoidal(d.Y, d.P), 1, 1e-12)
	// The mean square is that of the parts by weight; the kernel adds its own.
	want := math.Sqrt(2.0/3*0.15*0.15 + 1.0/3*math.Pow(0.5/1.96, 2))
	within(t, "RMS command", d.SigmaY, want*0.95, want*1.08)
	if d.Source != "flight" {
		t.Errorf("source %q", d.Source)
	}
}

func TestNoFlightLeavesTheDefault(t *testing.T) {
	r := newRecorded(20, input.TwoSided, "pitch")
	r.add(input.Rest, 10, func(float64) float64 { return 100 })
	d := demandOf(t, r, calibratedFixture(t), Defaults())
	if d.Source != "default" || d.Weight != 0 || d.SigmaY != 0.5/1.96 {
		t.Errorf("got %q, weight %g, σ %g", d.Source, d.Weight, d.SigmaY)
	}
}

// On the take-off roll the stick is held forward; that must not pull the curve.
func TestLongHoldsAreLeftOut(t *testing.T) {
	r := newRecorded(20, input.TwoSided, "pitch")
	r.add(input.NoPhase, 10, func(float64) float64 { return 100 })
	fly := gaussianFlight(0.1)
	r.add(input.Flight, 300, func(t float64) float64 {
		if t < 40 {
			return 100 + 30000*(-0.66+0.02*math.Sin(3*t))
		}
		return fly(t)
	})
	now, opts := calibratedFixture(t), Defaults()
	out := demandOf(t, r, now, opts)
	if len(out.Holds) != 1 {
		t.Fatalf("%d holds: %+v", len(out.Holds), out.Holds)
	}
	h := out.Holds[0]
	within(t, "hold from", h.From, 9.9, 10.1)
	within(t, "hold to", h.To, 49.8, 50.1)
	within(t, "hold command", h.Command, -0.67, -0.65)
	near(t, "minutes", out.Minutes, 260.0/60, 1e-2)
	opts.KeepHolds = true
	kept := demandOf(t, r, now, opts)
	near(t, "minutes with holds", kept.Minutes, 5, 1e-2)
	if !kept.Holds[0].Kept || kept.SigmaY < 1.15*out.SigmaY {
		t.Errorf("kept %v: RMS command %g, without the hold %g", kept.Holds[0].Kept, kept.SigmaY, out.SigmaY)
	}
	steady := newFitter(&out, newReach(usual())).blend()
	pulled := newFitter(&kept, newReach(usual())).blend()
	if steady.Parameter <= pulled.Parameter {
		t.Errorf("blend %g without the hold, %g with it", steady.Parameter, pulled.Parameter)
	}
}

// Short or moving large deflections are flying.
func TestLargeButMovingCommandsStay(t *testing.T) {
	r := newRecorded(50, input.TwoSided, "pitch")
	r.add(input.Flight, 60, func(t float64) float64 { return 100 + 30000*(0.75+0.15*math.Sin(2*t)) })
	r.add(input.NoPhase, 1, func(float64) float64 { return 100 })
	r.add(input.Flight, 4.5, func(float64) float64 { return 20000 })
	if d := demandOf(t, r, calibratedFixture(t), Defaults()); len(d.Holds) != 0 {
		t.Errorf("holds %+v", d.Holds)
	}
}

// Hands off for half of the time asks for nothing about the centre.
func TestHandsOffIsLeftOut(t *testing.T) {
	now := calibratedFixture(t)
	now.Deadband = curves.Sides{Low: 0.02, High: 0.02}
	r := newRecorded(20, input.TwoSided, "pitch")
	fly := gaussianFlight(0.2)
	r.add(input.Flight, 600, func(t float64) float64 {
		if math.Mod(t, 60) < 30 {
			return 200
		}
		return fly(t)
	})
	near(t, "minutes", demandOf(t, r, now, Defaults()).Minutes, 5, 0.02)
	now.Deadband = curves.Sides{}
	near(t, "minutes without deadband", demandOf(t, r, now, Defaults()).Minutes, 10, 0.02)
}

// Hands off before and behind a hold leaves the hold's rows out once, and the
// proposal lists it.
func TestHandsOffAboutAHoldIsLeftOut(t *testing.T) {
	r := newRecorded(20, input.TwoSided, "pitch")
	fly := gaussianFlight(0.2)
	r.add(input.Flight, 600, func(t float64) float64 {
		switch {
		case t < 100, t >= 150 && t < 250:
			return 100
		case t < 150:
			return 20000
		}
		return fly(t)
	})
	p, err := Axes([]*input.Recording{r.rec}, []*measure.Measurement{measurementOf(measuredAxis("pitch"))}, Defaults())
	if err != nil {
		t.Fatal(err)
	}
	d := p.Axes[0].Demand
	near(t, "minutes", d.Minutes, 350.0/60, 1e-3)
	if len(d.Holds) != 1 || math.Abs(d.Holds[0].From-100) > 0.1 {
		t.Errorf("holds %+v, want one from 100 s on", d.Holds)
	}
}

// A lever that is left where it is commands that; only a stick is held there.
func TestLeverHasNoHolds(t *testing.T) {
	lever := leverAxis("pitch")
	now, missing := calibrated(&lever)
	if missing != "" {
		t.Fatal(missing)
	}
	r := newRecorded(20, input.OneSided, "pitch")
	r.add(input.Flight, 60, func(float64) float64 { return 20000 })
	if f := flightOf(t, r, now, Defaults()); len(f.holds) != 0 || len(f.parts[0].left) != 0 {
		t.Errorf("holds %+v, left out %v", f.holds, f.parts[0].left)
	}
}

// A lever that stays at its idle stop commands nothing either.
func TestIdleLeverIsLeftOut(t *testing.T) {
	lever := leverAxis("pitch")
	now, missing := calibrated(&lever)
	if missing != "" {
		t.Fatal(missing)
	}
	now.Deadband.Low = 0.02
	r := newRecorded(20, input.OneSided, "pitch")
	r.add(input.Flight, 600, func(t float64) float64 {
		if math.Mod(t, 60) < 30 {
			return -32000 + 640 // half of the deadband
		}
		return 10000 * math.Sin(t)
	})
	near(t, "minutes", demandOf(t, r, now, Defaults()).Minutes, 5, 0.02)
}

// The commands are those of the response that was active, from the header or
// from the options, which come first.
func TestFlownWithGivesTheCommands(t *testing.T) {
	now := calibratedFixture(t)
	active := now
	active.Low, active.High = curves.Blend{Share: 0.8}, curves.Blend{Share: 0.8}
	profile := &curves.Profile{Axes: []curves.ProfileAxis{{Label: "pitch", Response: active}}}
	var file bytes.Buffer
	if err := profile.Write(&file); err != nil {
		t.Fatal(err)
	}
	r := newRecorded(20, input.TwoSided, "pitch")
	r.add(input.Flight, 60, func(t float64) float64 { return 100 + 30000*0.4*math.Sin(t) })
	meanSquare := func(opts Options) float64 {
		part := flightOf(t, r, now, opts).parts[0]
		sum := 0.0
		for i := range part.rows {
			sum += part.command(i) * part.command(i)
		}
		return sum / float64(len(part.rows))
	}
	want := func(s curves.Shape) (sum float64) {
		for i := range 1200 {
			y := s.At(math.Abs(0.4 * math.Sin(float64(i)/20)))
			sum += y * y / 1200
		}
		return sum
	}
	near(t, "straight-through", meanSquare(Defaults()), want(curves.Straight{}), 1e-3)
	r.rec.Header.FlownWith = json.RawMessage(file.Bytes())
	near(t, "flown_with", meanSquare(Defaults()), want(curves.Blend{Share: 0.8}), 1e-3)
	opts := Defaults()
	active.Low, active.High = curves.Power{Exponent: 2}, curves.Power{Exponent: 2}
	opts.FlownWith = &curves.Profile{Axes: []curves.ProfileAxis{{Label: "pitch", Response: active}}}
	near(t, "overridden", meanSquare(opts), want(curves.Power{Exponent: 2}), 1e-3)
	r.rec.Header.FlownWith = json.RawMessage(`{"format":"something else"}`)
	if _, err := flightsOf([]*input.Recording{r.rec}).of("pitch", now, Defaults()); err == nil {
		t.Error("a flown_with that is no profile was accepted")
	}
}

// The kernel keeps all of the weight, also at the ends.
func TestSmoothDensityKeepsItsWeight(t *testing.T) {
	for _, at := range []int{0, 3, 500, cells - 1} {
		weight := make([]float64, cells)
		weight[at] = 7
		d := evenDemand()
		d.P = smoothDensity(weight, 7)
		near(t, "integral", integrate.Trapezoidal(d.Y, d.P), 1, 2e-3)
	}
}

// Of a flight at 1000 rows a second a tenth is looked at, and the demand is the
// same.
func TestFastRowsArePassedOver(t *testing.T) {
	demand := func(hz float64) (rows int, d Demand) {
		r := newRecorded(hz, input.TwoSided, "pitch")
		r.add(input.Flight, 60, func(t float64) float64 { return 100 + 12000*math.Sin(t) })
		straight, _ := calibrated(&measure.Axis{Kind: string(input.TwoSided), Travel: measuredAxis("pitch").Travel})
		flight := flightOf(t, r, straight, Defaults())
		return len(flight.parts[0].rows), flight.tally(bothTogether).demand(DefaultDemand(0.5))
	}
	slow, from100 := demand(100)
	fast, from1000 := demand(1000)
	if slow != 6000 || fast != 6667 { // nine rows apart
		t.Errorf("%d and %d rows count", slow, fast)
	}
	near(t, "minutes", from1000.Minutes, 1, 1e-3)
	near(t, "RMS command", from1000.SigmaY, from100.SigmaY, 1e-3)
	for _, y := range []float64{0.05, 0.2, 0.38} {
		near(t, "density", from1000.At(y), from100.At(y), 0.01)
	}
}

// The rows that count are those that reading every row finds, however unevenly
// rows come and wherever an axis is away; they stand until the next that would
// count, if it is there or not. The other axis is always there.
func TestRowsThatCountAreFoundInUnevenFlight(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	r := newRecorded(1000, input.TwoSided, "pitch", "roll")
	var at []int64
	var there []bool
	now := int64(0)
	for run := range 200 {
		step := []int64{1, 100, 1000, 4500, 8999, 9000, 9001, 60000, 120_000}[rng.IntN(9)]
		spread := rng.Int64N(2) * step / 10
		for range 1 + rng.IntN(200) {
			now += step + rng.Int64N(1+spread)
			present := run%7 != 3
			r.rec.Times.Append(now)
			r.rec.Columns[0].Append(int16(len(at)), present)
			r.rec.Columns[1].Append(int16(len(at)), true)
			at, there = append(at, now), append(there, present)
		}
	}
	r.rec.Stretches = []input.Stretch{{Phase: input.Phase{Kind: input.Flight}, To: len(at)}}
	flights := flightsOf([]*input.Recording{r.rec})
	for label, present := range map[string]func(i int) bool{
		"pitch": func(i int) bool { return there[i] },
		"roll":  func(int) bool { return true },
	} {
		flight, err := flights.of(label, calibratedFixture(t), Defaults())
		if err != nil {
			t.Fatal(err)
		}
		part, n := flight.parts[0], 0
		for i := 0; i < len(at); n++ {
			for i < len(at) && !present(i) {
				i++
			}
			if i == len(at) {
				break
			}
			next := i + 1
			for next < len(at) && at[next] < at[i]+9000 {
				next++
			}
			want := flightRow{row: int32(i)}
			if next < len(at) {
				want.lastsUS = int32(min(100_000, at[next]-at[i]))
			}
			if part.rows[n] != want || part.counts[n] != int16(i) || part.at(n) != float64(at[i])/1e6 {
				t.Fatalf("%s: row %d that counts is %v at %g s with %d counts, want %v at %d µs", label, n, part.rows[n], part.at(n), part.counts[n], want, at[i])
			}
			i = next
		}
		if len(part.rows) != n || n == 0 {
			t.Errorf("%s: %d rows count, want %d", label, len(part.rows), n)
		}
	}
}

// The counts inside the deadband are those whose position is.
func TestIdleCounts(t *testing.T) {
	two := calibratedFixture(t)
	apart := two
	apart.Deadband = curves.Sides{Low: 0.02, High: 0.005}
	lever := leverAxis("lever")
	one, _ := calibrated(&lever)
	one.Deadband.Low = 0.01
	for _, r := range []curves.Response{two, apart, one} {
		low, high := idleCounts(&r)
		for i := math.MinInt16; i <= math.MaxInt16; i++ {
			u := r.Position(float64(i))
			want := u >= -r.Deadband.Low && u <= r.Deadband.High
			if r.Kind == curves.OneSided {
				want = u <= r.Deadband.Low
			}
			if got := i >= low && i <= high; got != want {
				t.Fatalf("%d counts, u = %g: idle %v, want %v", i, u, got, want)
			}
		}
	}
}
