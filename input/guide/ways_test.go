package guide

import (
	"math"
	"testing"

	"halfstick/input"
)

// path goes along straight lines between levels, each in so many seconds.
func path(seconds float64, levels ...float64) []float64 {
	out := []float64{levels[0]}
	n := int(math.Round(seconds / tile))
	for i := 1; i < len(levels); i++ {
		for k := 1; k <= n; k++ {
			out = append(out, levels[i-1]+(levels[i]-levels[i-1])*float64(k)/float64(n))
		}
	}
	return out
}

func TestWaysOf(t *testing.T) {
	for name, c := range map[string]struct {
		x      []float64
		broken []int
		counts []bool
		shares []float64
	}{
		"from the middle": {path(4, 0, -1000, 1000, -1000, 0), nil, []bool{true, true}, []float64{1, 1}},
		"from a stop":     {path(4, -1000, 1000, -1000), nil, []bool{true, true}, []float64{1, 1}},
		"short":           {path(4, -1000, 200, -1000), nil, []bool{false, false}, []float64{0.6, 0.6}},
		"too fast":        {path(1, -1000, 1000, -1000), nil, []bool{false, false}, []float64{1, 1}},
		"a wobble":        {path(2, -1000, 0, -100, 1000), nil, []bool{true}, []float64{1}},
		"a touch":         {path(2, 0, 150, 0), nil, nil, nil},
		"nothing":         {nil, nil, nil, nil},
		"broken":          {path(4, -1000, 1000, -1000), []int{40, 41, 42, 43, 44, 45}, []bool{false, true}, []float64{1, 1}},
		"broken at once":  {path(4, -1000, 1000, -1000), []int{3}, []bool{false, true}, []float64{1, 1}},
		"broken at last":  {path(4, -1000, 1000, -1000), []int{157}, []bool{true, false}, []float64{1, 1}},
		"broken at stops": {path(4, -1000, 1000, -1000), []int{0, 80, 160}, []bool{true, true}, []float64{1, 1}},
	} {
		ways := waysOf(c.x, c.broken, -1000, 1000)
		if len(ways) != len(c.counts) {
			t.Errorf("%s: %d ways, want %d: %+v", name, len(ways), len(c.counts), ways)
			continue
		}
		for i, w := range ways {
			if w.counts() != c.counts[i] || math.Abs(w.share-c.shares[i]) > 1e-9 {
				t.Errorf("%s: way %d is %+v, want counts %v, share %g", name, i, w, c.counts[i], c.shares[i])
			}
		}
	}
}

// A way in which the machine stood still is none when the recording is read again,
// if a measurement does not see it as one.
func TestWaysOfABrokenRecording(t *testing.T) {
	for _, c := range []struct {
		pauseUS int64
		ways    int
	}{{input.PauseUS - 10_000, 2}, {input.PauseUS + 10_000, 1}} {
		axis := input.Axis{Label: "pitch", Kind: input.TwoSided}.WithGuided()
		dev := input.Device{ID: "stick", Axes: []input.Axis{axis}}
		rec := &input.Recording{Header: input.Header{RateHz: 100, Devices: []input.Device{dev}}, Columns: make([]input.Column, 1)}
		at := int64(0)
		for i, x := range path(20, -30000, 30000, -30000) { // rows of 10 ms: four seconds a way
			if at += 10_000; i == 200 {
				at += c.pauseUS - 10_000
			}
			rec.Times.Append(at)
			rec.Columns[0].Append(int16(x), true)
		}
		rec.Stretches = []input.Stretch{{Phase: input.Phase{Kind: input.Sweep, Label: "pitch"}, To: rec.Rows()}}
		g, err := New(Options{Devices: []input.Device{dev}, Done: rec})
		if err != nil {
			t.Fatal(err)
		}
		if n := (past{g: g, rec: rec}).ways(0); n != c.ways {
			t.Errorf("with a pause of %d us there are %d ways, want %d", c.pauseUS, n, c.ways)
		}
	}
}

// Noise stands still; a slow movement, a touch and a beginning do not.
func TestStill(t *testing.T) {
	const n = 20
	flat := make([]float64, n)
	for i := range flat {
		flat[i] = 5 * math.Sin(float64(7*i))
	}
	change := func(f func(i int) float64) []float64 {
		out := make([]float64, n)
		for i := range out {
			out[i] = flat[i] + f(i)
		}
		return out
	}
	for name, c := range map[string]struct {
		x    []float64
		want bool
	}{
		"noise":       {flat, true},
		"too short":   {flat[1:], false},
		"slow":        {change(func(i int) float64 { return 20 * float64(i) }), false},
		"a step":      {change(func(i int) float64 { return map[bool]float64{true: 300}[i >= 10] }), false},
		"a touch":     {change(func(i int) float64 { return map[bool]float64{true: 900}[i >= 4 && i < 8] }), false},
		"a beginning": {change(func(i int) float64 { return map[bool]float64{true: 900}[i == n-1] }), false},
		"drift":       {change(func(i int) float64 { return 2 * float64(i) }), true},
	} {
		if got := still(c.x, n, 100); got != c.want {
			t.Errorf("%s: still %v, want %v", name, got, c.want)
		}
	}
}
