package sheet

import (
	"strings"
	"testing"

	"halfstick/curves"
)

// The card shows every number of the table as the table has it, and nothing of
// a label as markup.
func TestCardShowsTheTable(t *testing.T) {
	r := curves.StraightThrough(curves.TwoSided)
	r.Calibration = curves.Calibration{Low: -30000, Centre: 100, High: 31000}
	table, err := r.Table(curves.TableOptions{Points: 5, Places: 1, Spacing: curves.Even})
	if err != nil {
		t.Fatal(err)
	}
	table.Label = "<script>rudder"
	var b strings.Builder
	if err := RenderCard(&b, "profile.json", []curves.Table{table}); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	for _, want := range []string{
		`<tr><td class="number">1</td><td class="number">−100.0</td><td class="number">−100.0</td><td class="number">−30000</td>`,
		`<tr><td class="number">4</td><td class="number">50.0</td><td class="number">50.0</td><td class="number">15550</td>`,
		"5 points from profile.json", "&lt;script&gt;rudder",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("the card lacks %s", want)
		}
	}
	if strings.Contains(page, "<script") {
		t.Error("a label became markup")
	}
}
