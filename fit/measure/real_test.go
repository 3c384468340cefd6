package measure

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"halfstick/input"
)

// reference reads one table of published values.
func reference(t *testing.T, file, id string, inputs, expected any) {
	t.Helper()
	data, err := os.ReadFile("../../testdata/reference/" + file + ".json")
	if err != nil {
		t.Fatal(err)
	}
	var tables map[string]struct{ Inputs, Expected json.RawMessage }
	if err := json.Unmarshal(data, &tables); err != nil {
		t.Fatal(err)
	}
	for _, part := range []struct {
		raw json.RawMessage
		v   any
	}{{tables[id].Inputs, inputs}, {tables[id].Expected, expected}} {
		if err := json.Unmarshal(part.raw, part.v); err != nil {
			t.Fatalf("%s: %v", id, err)
		}
	}
}

// The step of a real converter is recovered from what it really read, scaled
// to counts as an input library does, whatever scaling the converter is seen
// through and however short the excerpt: a heart leaves many codes out.
func TestStepOfARealConverter(t *testing.T) {
	var in struct {
		RateHz float64 `json:"rate_hz"`
		Codes  []float64
	}
	var want struct{ Bits int }
	reference(t, "electrocardiogram", "electrocardiogram", &in, &want)
	if len(in.Codes) != 4320 {
		t.Fatalf("%d codes", len(in.Codes))
	}
	for _, length := range []int{120, 360, 4320} {
		// Through a scale wider than its own, too, as of a sensor that uses a part.
		for _, bits := range []int{want.Bits, want.Bits + 1, want.Bits + 3} {
			d := device{bits: bits}
			rec := &input.Recording{
				Header:    input.Header{RateHz: in.RateHz, Devices: []input.Device{{ID: "dev", Axes: []input.Axis{{Label: "axis", Kind: input.TwoSided}}}}},
				Columns:   make([]input.Column, 1),
				Stretches: []input.Stretch{{To: length}},
			}
			for i, code := range in.Codes[:length] {
				rec.Times.Append(int64(float64(i) / in.RateHz * 1e6))
				rec.Columns[0].Append(d.scale(code), true)
			}
			a := measured(t, rec)
			step := 65535 / d.most()
			if a.Step == nil || math.Abs(a.Step.Value/step-1) > 1e-3 {
				t.Errorf("%d codes through %d bits: step %s, want %.3f", length, bits, show(a.Step), step)
			}
		}
	}
}

// The sine of the table of IEEE 1057 fits, longer, as a periodic line: its
// frequency within the interval, its amplitude within 1 %.
func TestPeriodicAgainstSineFit(t *testing.T) {
	var in struct{ Fs, F, Q float64 }
	var want struct{ Amp float64 }
	reference(t, "sine_fit", "adc.sinefit", &in, &want)
	x := make([]float64, 8192)
	for i := range x {
		x[i] = math.Round((0.8*math.Sin(2*math.Pi*in.F*float64(i)/in.Fs+0.4)+0.05)/in.Q) * in.Q
	}
	a := &analysis{step: in.Q, out: &Axis{}}
	a.periodic(x, in.Fs)
	lines := a.out.Rest.Periodic
	if len(lines) != 1 || !has(&lines[0].FrequencyHz, in.F) || math.Abs(lines[0].Amplitude.Value/want.Amp-1) > 0.01 {
		t.Errorf("lines %+v, want one of %.4f at %.1f Hz", lines, want.Amp, in.F)
	}
}
