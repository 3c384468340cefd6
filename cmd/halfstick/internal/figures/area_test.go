package figures

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"halfstick/curves"
)

// A live mark laid over a figure by its area lies on what the figure drew.
func TestAreasAreWhereTheFigureDraws(t *testing.T) {
	f := Shaping(curves.TwoSided, 0.5)
	svg := f.Inline()
	areas := f.Areas()
	if len(areas) != 2 {
		t.Fatalf("%d areas", len(areas))
	}
	// The straight response runs from corner to corner, the straight slope
	// along 1. Plot's SVG counts from the bottom.
	height := shapingHeight.Points()
	for _, want := range []struct {
		area  Area
		value [2]float64
		start string
	}{
		{areas[0], [2]float64{-100, -100}, "M"}, {areas[0], [2]float64{100, 100}, "L"},
		{areas[1], [2]float64{-100, 1}, "M"}, {areas[1], [2]float64{100, 1}, "L"},
	} {
		x, y := want.area.Place(want.value[0], want.value[1])
		if at := fmt.Sprintf("%s%.5g,%.5g", want.start, x, height-y); !strings.Contains(svg, at) {
			t.Errorf("nothing is drawn at %s, the place of %v", at, want.value)
		}
		back, up := want.area.Value(x, y)
		if math.Abs(back-want.value[0]) > 1e-9 || math.Abs(up-want.value[1]) > 1e-9 {
			t.Errorf("%v is at %g,%g, which is %g,%g", want.value, x, y, back, up)
		}
	}
	if x, y := areas[0].Place(-500, 500); x != areas[0].Left || y != areas[0].Top {
		t.Errorf("beyond the edge is %g,%g", x, y)
	}
}

// Every figure that names areas has them inside itself, with values that rise.
func TestAreasOfEveryFigure(t *testing.T) {
	marked := map[string]int{"rest": 2, "rest-quiet": 2, "returns": 1, "noise": 1, "response": 2, "response-one-sided": 2,
		"shaping": 2, "shaping-one-sided": 2, "flown": 2}
	for name, f := range every() {
		areas := f.Areas()
		if len(areas) != marked[name] {
			t.Errorf("%s: %d areas, want %d", name, len(areas), marked[name])
		}
		for _, a := range areas {
			inside := a.Left > 0 && a.Left < a.Right && a.Right <= f.width.Points() && a.Top >= 0 && a.Top < a.Bottom && a.Bottom < f.height.Points()
			if !inside || !(a.XMin < a.XMax) || !(a.YMin < a.YMax) {
				t.Errorf("%s: %+v in %v × %v", name, a, f.width, f.height)
			}
		}
	}
	if Response("x", nil, 0).Areas() != nil || Flown(ReplayPart{}).Areas() != nil {
		t.Error("a figure without data has areas")
	}
}
