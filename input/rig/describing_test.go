package rig

import (
	"encoding/json"
	"math"
	"math/cmplx"
	"os"
	"testing"
)

// The first harmonic of a sine through the play between grip and sensor is that
// of backlash: its describing function, as in Gelb and Vander Velde (1968) and
// Slotine and Li (1991), chapter 5.
func TestPlayIsBacklash(t *testing.T) {
	data, err := os.ReadFile("../../testdata/reference/describing_functions.json")
	if err != nil {
		t.Fatal(err)
	}
	var tables map[string]struct {
		Expected struct {
			Backlash []struct {
				HalfGap float64 `json:"half_gap_over_A"`
				Re, Im  float64
			}
		}
	}
	if err := json.Unmarshal(data, &tables); err != nil {
		t.Fatal(err)
	}
	rows := tables["hyst.describing_functions"].Expected.Backlash
	if len(rows) != 8 {
		t.Fatalf("%d rows", len(rows))
	}
	const hz, amplitude, periods = 0.5, 0.5, 3
	for _, row := range rows {
		s := bare()
		s.Play = 2 * row.HalfGap * amplitude
		a := newAxis(s, 1, 0)
		// A sine is the path of the free axis: with k/m = (2πf)² and no damping.
		a.spec.Spring.Low = a.spec.Mass * math.Pow(2*math.Pi*hz, 2)
		a.spec.Spring.High = a.spec.Spring.Low
		a.x, a.sensed = amplitude, amplitude-s.Play/2
		var grip, sensor complex128
		for i := range int(periods / hz / step) {
			turn := cmplx.Exp(complex(0, -2*math.Pi*hz*float64(i)*step))
			a.advance(0, false)
			if float64(i)*step >= 1/hz { // the first period is for the play to be taken up
				grip += complex(a.x, 0) * turn
				sensor += complex(a.sensed, 0) * turn
			}
		}
		if got, want := sensor/grip, complex(row.Re, row.Im); cmplx.Abs(got-want) > 0.002 {
			t.Errorf("half-gap %.2f of the amplitude: %.4f, want %.4f", row.HalfGap, got, want)
		}
	}
}
