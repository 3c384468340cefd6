package sheet

import (
	"bytes"
	"strings"
	"testing"

	"halfstick/fit/measure"
)

// A part of an axis is, letter for letter, what stands in the sheet.
func TestPartsAreThoseOfTheSheet(t *testing.T) {
	d := full()
	whole := render(t, d)
	a := &d.Recordings[0].Measurement.Axes[0]
	for _, part := range []Part{Share, Measured, Proposal} {
		var b bytes.Buffer
		if err := RenderPart(&b, d, a, part); err != nil {
			t.Fatal(err)
		}
		if got := strings.TrimSpace(b.String()); len(got) < 100 || !strings.Contains(whole, got) {
			t.Errorf("%s: its %d bytes do not stand in the sheet", part, len(got))
		}
	}
	var b bytes.Buffer
	if err := RenderPart(&b, d, a, Methods); err != nil || !strings.Contains(b.String(), "method-1") {
		t.Errorf("methods: %q, %v", b.String(), err)
	}
	d.Proposal = nil
	b.Reset()
	if err := RenderPart(&b, d, a, Share); err != nil || b.Len() > 0 {
		t.Errorf("without a proposal the share is %q, %v", b.String(), err)
	}
	if err := RenderPart(&b, d, new(measure.Axis), Measured); err == nil {
		t.Error("an axis that is not in the sheet has a part")
	}
}
