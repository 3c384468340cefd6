package curves

import (
	"math"
	"testing"
)

// The first harmonic of a sine through the deadband of a straight response,
// whose slope outside of it is 1/(1−d), is that of a dead zone of unit slope
// over 1−d: its describing function, as in Gelb and Vander Velde (1968).
func TestDeadbandIsADeadZone(t *testing.T) {
	var tables map[string]struct {
		Expected struct {
			DeadZone []struct {
				Width float64 `json:"d_over_A"`
				N     float64
			} `json:"deadzone"`
		}
	}
	readReference(t, "describing_functions.json", &tables)
	rows := tables["hyst.describing_functions"].Expected.DeadZone
	if len(rows) != 8 {
		t.Fatalf("%d rows", len(rows))
	}
	const amplitude, points = 0.9, 200_000
	for _, row := range rows {
		d := row.Width * amplitude
		r := StraightThrough(TwoSided)
		r.Deadband = Sides{Low: d, High: d}
		if err := r.Check(); err != nil {
			t.Fatal(err)
		}
		sum := 0.0
		for i := range points {
			s := math.Sin(2 * math.Pi * (float64(i) + 0.5) / points)
			sum += r.Command(amplitude*s) * s
		}
		if got := 2 * sum / points / amplitude * (1 - d); math.Abs(got-row.N) > 1e-7 {
			t.Errorf("deadband of %.2f of the amplitude: first harmonic %.9f, want %.9f", row.Width, got, row.N)
		}
	}
}
