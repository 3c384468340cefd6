package propose

import (
	"encoding/json"
	"fmt"
	"os"
	"testing"
)

// The bound is what a general optimiser finds that knows the limits and nothing
// of the solution: see testdata/reference/optimal_bound.py.
func TestBoundIsAGeneralOptimisers(t *testing.T) {
	data, err := os.ReadFile("../../testdata/reference/optimal_bound.json")
	if err != nil {
		t.Fatal(err)
	}
	var file struct {
		Tolerance float64 `json:"tolerance"`
		Cases     []struct {
			Demand   string    `json:"demand"`
			Largest  float64   `json:"largest"`
			Smallest float64   `json:"smallest"`
			Square   float64   `json:"square"`
			Density  []float64 `json:"density"`
		} `json:"cases"`
	}
	if err := json.Unmarshal(data, &file); err != nil {
		t.Fatal(err)
	}
	if len(file.Cases) != 24 {
		t.Fatalf("%d cases, want 24", len(file.Cases))
	}
	for _, c := range file.Cases {
		got := bestUnder(&Demand{P: c.Density}, limits{c.Largest, c.Smallest}).square
		near(t, fmt.Sprintf("%s, slopes %g to %g", c.Demand, c.Smallest, c.Largest), got, c.Square, file.Tolerance)
	}
}
