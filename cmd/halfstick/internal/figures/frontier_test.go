package figures

import (
	"bytes"
	"math"
	"slices"
	"testing"

	"halfstick/fit/propose"
)

func frontierFixture() (propose.Frontier, []FrontierMark) {
	line := func(family string, to, depth float64) propose.FrontierFamily {
		f := propose.FrontierFamily{Family: family}
		for i := range 21 {
			x := float64(i) / 20
			f.Points = append(f.Points, propose.FrontierPoint{MaxSlope: 1.02 + (to-1.02)*x, Jitter: 1.02 - depth*(2*x-x*x)})
		}
		return f
	}
	return propose.Frontier{Label: "pitch", LargestSlope: 3, Families: []propose.FrontierFamily{
			line("power", 1.55, 0.16), line("blend", 2.6, 0.25), line("points", 6, 0.31), line("bound", 6, 0.32),
		}}, []FrontierMark{
			{"proposal", propose.FrontierPoint{MaxSlope: 2.03, Jitter: 0.78}},
			{"straight", propose.FrontierPoint{MaxSlope: 1.02, Jitter: 1.02}},
			{"power:1.3", propose.FrontierPoint{MaxSlope: 1.33, Jitter: 0.9}},
			{"a-rather-long-profile-name.json#pitch", propose.FrontierPoint{MaxSlope: 5.4, Jitter: 0.95}},
			{"power:0.5", propose.FrontierPoint{MaxSlope: math.Inf(1), Jitter: 1.1}},
		}
}

func TestFrontierNamesEveryLineAndMark(t *testing.T) {
	f, named := frontierFixture()
	figure := Frontier(f, named)
	texts := wellFormed(t, "frontier", write(t, "frontier", figure, "svg"))
	for _, want := range []string{"power", "blend", "points", "the best possible", "proposal", "straight", "power:1.3",
		"a-rather-long-profile-name.json#pitch", "largest slope allowed", "largest slope, command per position"} {
		if !slices.Contains(texts, want) {
			t.Errorf("%q is not written; texts %q", want, texts)
		}
	}
	if slices.Contains(texts, "power:0.5") {
		t.Error("a curve without largest slope is marked")
	}
	if named[0].Name != "proposal" {
		t.Error("the caller's marks were sorted")
	}
	// Each mark's name stands on paper, as the limit's line may pass there; so does the
	// whole.
	if n := bytes.Count(write(t, "frontier", figure, "svg"), []byte(`class="fill-paper"`)); n != 5 {
		t.Errorf("%d grounds of paper, want those of four names and the whole", n)
	}
	write(t, "frontier", figure, "png")
	if got := Frontier(propose.Frontier{}, nil).Says(); got != "Frontier: no line to draw" {
		t.Errorf("says %q", got)
	}
}
