package text

import (
	"testing"

	"halfstick/fit/propose"
)

func weighed() *propose.AxisProposal {
	at := func(after float64) []propose.JitterAt {
		return []propose.JitterAt{{Before: 0.3, After: 0}, {Before: 0.3, After: after}, {Before: 0.4, After: 2 * after}}
	}
	return &propose.AxisProposal{
		ResolutionBefore: 0.5, ResolutionAfter: 0.66, Jitter: at(0.25), Chosen: "blend",
		Fits: []propose.Fit{
			{Family: "straight", CentreSlope: 1.02, MaxSlope: 1.02, ResolutionShare: 0.49, CommandJitter: at(0.31)},
			{Family: "blend", Parameter: 0.487, Gain: 0.86, CentreSlope: 0.52, MaxSlope: 2.03, ResolutionShare: 0.66, CommandJitter: at(0.25)},
			{Family: "points", Parameter: 5, Gain: 0.99, CentreSlope: 0.47, MaxSlope: 3},
		},
	}
}

func TestFamilies(t *testing.T) {
	want := []Family{
		{"as it is", "", "", "–", "50 %", "0.30 %", "0.30 %", "0.40 %", "1.00", "1.00", false},
		{"straight", "", "", "0 %", "49 %", "0 %", "0.31 %", "0.62 %", "1.02", "1.02", false},
		{"blend", "0.49", "", "86 %", "66 %", "0 %", "0.25 %", "0.50 %", "0.52", "2.03", true},
		{"points", "5", "", "99 %", "–", "–", "–", "–", "0.47", "3.00", false},
	}
	a := weighed()
	got := Families(a)
	if len(got) != len(want) {
		t.Fatalf("%d rows", len(got))
	}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("row %d is\n%+v, want\n%+v", i, got[i], want[i])
		}
	}
}

// With the sides apart it is the sides' shapes that are proposed, not that of
// both together.
func TestFamiliesOfSidesApart(t *testing.T) {
	a := weighed()
	a.Sides = []propose.SideProposal{
		{Side: "low", Fits: []propose.Fit{{Family: "blend", Parameter: 0.4, Gain: 0.8, CentreSlope: 0.6, MaxSlope: 1.8}}},
		{Side: "high", Fits: []propose.Fit{{Family: "power", Parameter: 1.5}, {Family: "blend", Parameter: 0.6, Gain: 0.9, CentreSlope: 0.4, MaxSlope: 2.2}}},
	}
	rows := Families(a)
	if len(rows) != 6 {
		t.Fatalf("%d rows", len(rows))
	}
	for i, r := range rows {
		if r.Chosen != (i >= 4) {
			t.Errorf("row %d chosen: %v", i, r.Chosen)
		}
	}
	want := Family{"blend", "0.60", "high", "90 %", "66 %", "0 %", "0.25 %", "0.50 %", "0.40", "2.20", true}
	if rows[5] != want {
		t.Errorf("high side %+v, want %+v", rows[5], want)
	}
}
