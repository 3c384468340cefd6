package stats

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
)

// table is one published table of testdata/reference: where it comes from and
// how closely it must be met stand beside the numbers there.
type table struct {
	Source    string
	Inputs    json.RawMessage
	Expected  json.RawMessage
	Tolerance string
}

// reference loads the tables of one file.
func reference(t *testing.T, file string) map[string]table {
	t.Helper()
	raw, err := os.ReadFile(filepath.Join("..", "..", "testdata", "reference", file+".json"))
	if err != nil {
		t.Fatal(err)
	}
	var tables map[string]table
	if err := json.Unmarshal(raw, &tables); err != nil {
		t.Fatalf("%s: %v", file, err)
	}
	return tables
}

// load fills inputs and expected from one table; nil skips either.
func load(t *testing.T, file, id string, inputs, expected any) {
	t.Helper()
	tab, ok := reference(t, file)[id]
	if !ok {
		t.Fatalf("%s.json has no table %s", file, id)
	}
	for _, part := range []struct {
		raw json.RawMessage
		v   any
	}{{tab.Inputs, inputs}, {tab.Expected, expected}} {
		if part.v == nil {
			continue
		}
		if err := json.Unmarshal(part.raw, part.v); err != nil {
			t.Fatalf("%s: %v", id, err)
		}
	}
}

func wantRel(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(want)) {
		t.Errorf("%s: got %.16g, want %.16g (rel %.2g > %.2g)", what, got, want, math.Abs(got/want-1), tol)
	}
}

func wantAbs(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.16g, want %.16g (abs %.2g > %.2g)", what, got, want, math.Abs(got-want), tol)
	}
}

func wantSlice(t *testing.T, what string, got, want []float64, tol float64) {
	t.Helper()
	if len(got) != len(want) || len(want) == 0 {
		t.Fatalf("%s: got %d values, want %d (and some)", what, len(got), len(want))
	}
	for i := range want {
		if !(math.Abs(got[i]-want[i]) <= tol) {
			t.Errorf("%s[%d]: got %.16g, want %.16g", what, i, got[i], want[i])
		}
	}
}

// wantCoverage checks that the share of intervals that held the truth lies in
// [low, high].
func wantCoverage(t *testing.T, what string, held, of int, low, high float64) {
	t.Helper()
	share := float64(held) / float64(of)
	t.Logf("%s: %.1f %% of %d intervals hold the truth", what, 100*share, of)
	if share < low || share > high {
		t.Errorf("%s: %.1f %% of intervals hold the truth, want %.0f to %.0f %%", what, 100*share, 100*low, 100*high)
	}
}

// sp1065 is the 1000-point series of NIST SP 1065, section 12.4.
func sp1065(t *testing.T) []float64 {
	t.Helper()
	const modulus = 2147483647
	y := make([]float64, 1000)
	n := int64(1234567890)
	for i := range y {
		y[i] = float64(n) / modulus
		if i == len(y)-1 && n != 1560135652 {
			t.Fatalf("generator ended at %d", n)
		}
		n = 16807 * n % modulus
	}
	return y
}

func random(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 1)) }

func gaussian(r *rand.Rand, n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	return x
}

// correlated is a stationary standard Gaussian sequence of lag-1 correlation
// rho.
func correlated(r *rand.Rand, n int, rho float64) []float64 {
	x := gaussian(r, n)
	for i := 1; i < n; i++ {
		x[i] = rho*x[i-1] + math.Sqrt(1-rho*rho)*x[i]
	}
	return x
}
