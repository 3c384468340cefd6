package rig

import (
	"math"
	"testing"
	"time"

	"gonum.org/v1/gonum/stat"

	"halfstick/input"
)

// oneAxis is a rig of a single axis that nobody touches.
func oneAxis(t *testing.T, s AxisSpec, reportHz float64, seed uint64) *Rig {
	t.Helper()
	r, err := New([]DeviceSpec{{ID: "test", Name: "Example", ReportHz: reportHz, Axes: []AxisSpec{s}}}, seed)
	if err != nil {
		t.Fatal(err)
	}
	return r
}

// codes samples a one-axis rig once a report, half-way between reports, and
// turns the counts back into the converter's codes.
func codes(r *Rig, n int) []float64 {
	most := float64(r.specs[0].Axes[0].maxCode())
	interval := 1 / r.specs[0].ReportHz
	out := make([]float64, n)
	var dst [1]int16
	for i := range out {
		r.Advance(duration((float64(i) + 0.5) * interval))
		r.Counts(dst[:])
		out[i] = math.Round((float64(dst[0]) + 32768) * most / 65535)
	}
	return out
}

func lag1(x []float64) float64 {
	return stat.Correlation(x[:len(x)-1], x[1:], nil)
}

// White noise and wander add in squares; the converter's rounding adds 1/12 of
// a squared step (Bennett 1948). The wander's share of the variance, times its
// own correlation, is the correlation from report to report.
func TestNoiseIsAsSpecified(t *testing.T) {
	const n = 60000
	for _, c := range []struct{ white, wander, rho float64 }{
		{2, 0, 0}, {2, 1.5, 0.9}, {0, 3, 0.5},
	} {
		s := bare()
		s.White, s.Wander, s.WanderCorrelation = c.white, c.wander, c.rho
		s.Bits = 12
		r := oneAxis(t, s, 250, 3)
		x := codes(r, n)
		variance := c.white*c.white + c.wander*c.wander
		// The worst case, ρ = 0.9 on a third of the variance, leaves about a
		// tenth of the samples independent: 1/√(2·6000) = 0.9 %.
		if got, want := stat.StdDev(x, nil), math.Sqrt(variance+1.0/12); math.Abs(got/want-1) > 0.03 {
			t.Errorf("%+v: σ = %.3f steps, want %.3f", c, got, want)
		}
		want := c.wander * c.wander * c.rho / (variance + 1.0/12)
		if got := lag1(x); math.Abs(got-want) > 0.02 {
			t.Errorf("%+v: correlation %.3f, want %.3f", c, got, want)
		}
		truth := r.Truth()[0]
		if got, want := truth.SigmaCounts, math.Sqrt(variance)*65535/4095; math.Abs(got-want) > 1e-9 {
			t.Errorf("%+v: truth says σ = %v counts, want %v", c, got, want)
		}
		if got, want := truth.Correlation, c.wander*c.wander*c.rho/variance; math.Abs(got-want) > 1e-9 {
			t.Errorf("%+v: truth says correlation %v, want %v", c, got, want)
		}
	}
}

func TestWornStretchIsNoisier(t *testing.T) {
	s := bare()
	s.White, s.Bits = 2, 12
	s.Worn = Worn{From: 0.18, To: 0.30, Times: 4}
	for _, c := range []struct{ at, times float64 }{{0.17, 1}, {0.19, 4}, {0.29, 4}, {0.31, 1}, {-0.2, 1}} {
		s.Spring.Centre = c.at // where an untouched axis stands
		x := codes(oneAxis(t, s, 250, 8), 20000)
		if got, want := stat.StdDev(x, nil), math.Sqrt(4*c.times*c.times+1.0/12); math.Abs(got/want-1) > 0.03 {
			t.Errorf("at %v: σ = %.2f steps, want %.2f", c.at, got, want)
		}
	}
}

func TestDrift(t *testing.T) {
	s := bare()
	s.White, s.DriftStepsPerMinute = 1, -30
	x := codes(oneAxis(t, s, 250, 4), 30000)
	at := make([]float64, len(x))
	for i := range at {
		at[i] = float64(i) / 250 / 60
	}
	if _, slope := stat.LinearRegression(at, x, nil, false); math.Abs(slope+30) > 0.1 {
		t.Errorf("drifts by %.2f steps a minute, want −30", slope)
	}
}

func TestSpikes(t *testing.T) {
	const minutes, perMinute = 40, 30
	s := bare()
	s.SpikesPerMinute, s.SpikeSteps = perMinute, 100
	spikes, sum, last := 0, 0.0, 0.0
	x := codes(oneAxis(t, s, 100, 9), minutes*60*100)
	home := s.code(0)
	for _, v := range x {
		d := v - math.Round(home)
		if d != 0 && last == 0 {
			spikes++
			sum += math.Abs(d)
		}
		last = d
	}
	// A Poisson count; spikes that touch each other count once.
	if want := float64(minutes * perMinute); math.Abs(float64(spikes)-want) > 4*math.Sqrt(want) {
		t.Errorf("%d spikes, want about %.0f", spikes, want)
	}
	if mean := sum / float64(spikes); math.Abs(mean-100) > 3 {
		t.Errorf("spikes are %.1f steps high, want 100", mean)
	}
}

// Counts change only when a report comes: at the device's rate, with the stated
// jitter and no more.
func TestReportRate(t *testing.T) {
	for _, hz := range []float64{60, 125, 250} {
		s := bare()
		s.White = 8000 // no report of this seed equals the last
		r := oneAxis(t, s, hz, 4)
		var now, last [1]int16
		var changes []float64
		for i := range int(20 / step) {
			at := float64(i) * step
			r.Advance(duration(at))
			r.Counts(now[:])
			if i > 0 && now != last {
				changes = append(changes, at)
			}
			last = now
		}
		if got := float64(len(changes)) / 20; math.Abs(got-hz) > 0.005*hz {
			t.Errorf("%v Hz: %.2f reports a second", hz, got)
		}
		var off float64
		for i := 1; i < len(changes); i++ {
			off = math.Max(off, math.Abs((changes[i]-changes[i-1])*hz-1))
		}
		if most := 2*reportJitter + 1.5*step*hz; off > most || off < reportJitter {
			t.Errorf("%v Hz: an interval is %.3f off, want between %.3f and %.3f", hz, off, reportJitter, most)
		}
	}
}

// The raw code can be had back from the counts exactly, up to 16 bits; the ends
// are the ends; ten bits step by 64 or 65.
func TestScalingToCounts(t *testing.T) {
	tried := 0
	for bits := 1; bits <= 16; bits++ {
		most := 1<<bits - 1
		if scaleCounts(0, most) != -32768 || scaleCounts(most, most) != 32767 {
			t.Errorf("%d bits: ends at %d, %d", bits, scaleCounts(0, most), scaleCounts(most, most))
		}
		for code := 0; code <= most; code++ {
			v := scaleCounts(code, most)
			if back := int(math.Round((float64(v) + 32768) * float64(most) / 65535)); back != code {
				t.Fatalf("%d bits: code %d gives %d counts, which give code %d", bits, code, v, back)
			}
			exact := float64(code)*65535/float64(most) - 32768
			if math.Abs(float64(v)-exact) > 0.51 {
				t.Fatalf("%d bits: code %d gives %d counts, want %.3f rounded", bits, code, v, exact)
			}
			tried++
		}
	}
	if tried != 1<<17-2 {
		t.Errorf("%d codes tried", tried)
	}
	steps := map[int]int{}
	for code := range 1023 {
		steps[int(scaleCounts(code+1, 1023))-int(scaleCounts(code, 1023))]++
	}
	// 65535 = 960·64 + 63·65.
	if steps[64] != 960 || steps[65] != 63 {
		t.Errorf("ten-bit steps: %v, want 960 of 64 and 63 of 65", steps)
	}
}

// A noise-free reading is the code nearest the position, within the travel.
func TestTravel(t *testing.T) {
	s := bare()
	s.Kind, s.Bits, s.Travel = input.OneSided, 10, Travel{0.03, 0.15}
	s.Spring = Spring{}
	for _, c := range []struct{ x, want float64 }{{0, 0.03}, {0.5, 0.09}, {1, 0.15}} {
		s.Spring.Centre = c.x
		if got, want := codes(oneAxis(t, s, 100, 1), 1)[0], math.Round(c.want*1023); got != want {
			t.Errorf("at %v: code %v, want %v", c.x, got, want)
		}
	}
	s.Spring.Centre = 0
	truth := oneAxis(t, s, 100, 1).Truth()[0]
	if low, high := 0.03*65535-32768, 0.15*65535-32768; math.Abs(truth.LowCounts-low) > 1e-6 || math.Abs(truth.HighCounts-high) > 1e-6 {
		t.Errorf("truth says %v to %v counts, want %v to %v", truth.LowCounts, truth.HighCounts, low, high)
	}
	if math.Abs(truth.UsedShare-0.12) > 1e-12 || truth.ReturnHigh != nil {
		t.Errorf("truth says used share %v, return %v", truth.UsedShare, truth.ReturnHigh)
	}
}

func TestAdvanceBackwardsChangesNothing(t *testing.T) {
	r := Default(1)
	r.Advance(3 * time.Second)
	before := r.now()
	r.Advance(time.Second)
	if r.now() != before {
		t.Errorf("the rig went from %v to %v", before, r.now())
	}
}
