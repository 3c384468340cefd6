package bench

import (
	"strings"
	"testing"

	"halfstick/curves"
	"halfstick/fit/translate"
)

// What is typed arrives as the options of the command, and what is wrong is
// named.
func TestTranslateOptions(t *testing.T) {
	var got translate.Options
	c := withRecording(t, config(t))
	c.Translate = func(_ curves.ProfileAxis, _ []byte, o translate.Options) (string, error) {
		got = o
		return "40", nil
	}
	d := run(t, c)
	if err := d.post("/axis/rudder/translate", map[string]any{"readings": "x"}, nil); err != nil || got.StraightAt != 0 || got.Settings != nil || got.ReadingError != 0.005 {
		t.Errorf("nothing typed: %+v, %v", got, err)
	}
	err := d.post("/axis/rudder/translate", translateWish{"x", "50", " -20", "120", "0,25"}, nil)
	if err != nil || got.StraightAt != 50 || got.Settings == nil || *got.Settings != (translate.Range{Low: -20, High: 120}) || got.ReadingError != 0.0025 {
		t.Errorf("all typed: %+v, %v", got, err)
	}
	for says, wish := range map[string]translateWish{
		"straight at": {StraightAt: "half"}, "settings from": {Low: "low", High: "3"}, "two whole numbers": {Low: "1"},
		"lower whole number first": {Low: "5", High: "1"}, "reading error": {ReadingError: "50"}, "whole numbers": {Low: "0.5", High: "3"},
	} {
		if err := d.post("/axis/rudder/translate", wish, nil); err == nil || !strings.Contains(err.Error(), says) {
			t.Errorf("%+v: %v, want something about %q", wish, err, says)
		}
	}
}
