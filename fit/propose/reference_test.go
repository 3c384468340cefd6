package propose

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"gonum.org/v1/gonum/floats/scalar"
)

// reference reads one table of testdata/reference into expected.
func reference(t *testing.T, file, table string, expected any) {
	t.Helper()
	data, err := os.ReadFile("../../testdata/reference/" + file)
	if err != nil {
		t.Fatal(err)
	}
	var tables map[string]struct {
		Expected json.RawMessage `json:"expected"`
	}
	if err := json.Unmarshal(data, &tables); err != nil {
		t.Fatal(err)
	}
	if err := json.Unmarshal(tables[table].Expected, expected); err != nil {
		t.Fatalf("%s, %s: %v", file, table, err)
	}
}

func near(t *testing.T, what string, got, want, relative float64) {
	t.Helper()
	if !scalar.EqualWithinRel(got, want, relative) {
		t.Errorf("%s: got %.8g, want %.8g within a relative %g", what, got, want, relative)
	}
}

func within(t *testing.T, what string, got, low, high float64) {
	t.Helper()
	if !(got >= low && got <= high) {
		t.Errorf("%s: got %.6g, want %g to %g", what, got, low, high)
	}
}

func unlimited() limits { return limits{largest: math.Inf(1), smallest: 0} }

func usual() limits { return limits{largest: 3, smallest: 0.2} }

func halfNormal(sigma float64) Demand {
	return NewDemand(func(y float64) float64 { return math.Exp(-y * y / (2 * sigma * sigma)) })
}
