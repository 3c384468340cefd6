package measure

import (
	"math"
	"math/rand/v2"
	"testing"
)

// stay is a rise to a stop at 1000, a stay and a fall, sampled every 3 ms with
// its corners between the samples; the way there and back covers 60 counts in 40 ms.
func stay(level, seconds, offset, noise float64) (t, x []float64) {
	rng := rand.New(rand.NewPCG(uint64(1000*offset), 5))
	const rise = 0.04
	for at := 0.0; at < 2*rise+seconds; at += 0.003 {
		v := level
		if d := rise + offset*0.003 - at; d > 0 {
			v -= 1500 * d
		}
		if d := at - (rise + offset*0.003 + seconds); d > 0 {
			v -= 1500 * d
		}
		t, x = append(t, at), append(x, v+noise*rng.NormFloat64())
	}
	return t, x
}

// The level must come out whatever the corners' places between samples: quiet
// within a twentieth of a step, noisy within what so few reports allow.
func TestPlateauLevel(t *testing.T) {
	a := &analysis{series: &series{}, out: &Axis{}, step: 1}
	for offset := 0.0; offset < 1; offset += 0.125 {
		at, x := stay(1000, 0.13, offset, 0)
		v := a.plateau(at, x, 60)
		if math.Abs(v.at-1000) > 0.05 || !v.held {
			t.Errorf("corners at %.3f of a sample: level %.3f, held %v; want 1000, held", offset, v.at, v.held)
		}
		at, x = stay(1000, 0.13, offset, 4)
		if v := a.plateau(at, x, 60); math.Abs(v.at-1000) > 3*4/math.Sqrt(30) {
			t.Errorf("with noise: level %.2f, want 1000 ± %.2f", v.at, 3*4/math.Sqrt(30))
		}
	}
}

// A turn that stops short within the zone of a stop is not taken for a visit,
// and the mean stays at the mean time of all.
func TestTurnIsNoVisit(t *testing.T) {
	a := &analysis{series: &series{}, out: &Axis{}, step: 1}
	at, x := stay(1000, 0, 0.4, 0)
	if v := a.plateau(at, x, 60); v.held {
		t.Errorf("a turn without a stay is held at %.1f", v.at)
	}
	at, x = stay(1000, 0.3, 0.4, 0)
	release := at[14:]
	if v := a.plateau(release, x[14:], 60); !v.held || math.Abs(v.at-1000) > 0.05 {
		t.Errorf("a release without a rise: level %.2f, held %v", v.at, v.held)
	}
	a.out.Rest.DriftPerMinute = within(60, 59, 61, unitCountsPerMinute, 9, "known")
	all := []visit{{t: 0, at: 1000, held: true}, {t: 30, at: 1030.2, held: true}, {t: 120, at: 900}}
	q, _ := a.stopQuantity(all, 10000, 1)
	if q == nil || q.N != 2 || math.Abs(q.Value-1050.1) > 1e-9 || !has(q, 1050) {
		t.Errorf("stop %+v, want 1050 at the mean time of 50 s from two visits", q)
	}
	if q, _ := a.stopQuantity(all[2:], 10000, 1); q == nil || q.N != 1 || q.Value != 900 {
		t.Errorf("with nothing better: %+v, want 900", q)
	}
}
