package input_test

import (
	"encoding/json"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"time"

	"halfstick/input"
)

func TestFaultsOfTheHeader(t *testing.T) {
	with := func(old, new string) string {
		if !strings.Contains(head, old) {
			t.Fatalf("the head has no %q to replace", old)
		}
		return strings.Replace(head, old, new, 1) + rows
	}
	const rudder, brake = "devices[0].axes[0]", "devices[0].axes[1]"
	line := func(header string) string {
		return "# halfstick recording 1\n# " + header + "\nt_us,phase\n"
	}
	checkFaults(t, []fault{
		{"not JSON", line(`{"started":`), 2, "", "expected a JSON object"},
		{"two objects", line(`{} {}`), 2, "", "at byte 4 of it"},
		{"a list", line(`[]`), 2, "", `found "[]"`},
		{"null", line(`null`), 2, "", "found null"},
		{"not UTF-8", with("Example", "Ex\xffmple"), 2, "", "the header as UTF-8"},
		{"nested without end", line(`{"a":` + strings.Repeat("[", 100_000)), 2, "", "expected a JSON object"},
		{"nothing in it", line(`{}`), 2, "started", "found nothing; add this field"},
		{"no rate", with(`"rate_hz":500,`, ""), 2, "rate_hz", "found nothing"},
		{"rate as text", with(`"rate_hz":500`, `"rate_hz":"500"`), 2, "rate_hz", "expected a number above 0"},
		{"rate 0", with(`"rate_hz":500`, `"rate_hz":0`), 2, "rate_hz", "expected a number above 0, found 0"},
		{"rate below 0", with(`"rate_hz":500`, `"rate_hz":-1`), 2, "rate_hz", "found -1"},
		{"rate too large", with(`"rate_hz":500`, `"rate_hz":1e999`), 2, "rate_hz", "found \"1e999\""},
		{"no time", with(`"2026-11-25T10:00:00Z"`, `"yesterday"`), 2, "started", `found "\"yesterday\""`},
		{"source null", with(`"sdl 2.26.5 linux"`, `null`), 2, "source", "found nothing"},
		{"devices an object", with(`"devices":[`, `"devices":{},"x":[`), 2, "devices", "a list of devices"},
		{"no devices", with(`"devices":[`, `"devices":[],"x":[`), 2, "devices", "at least one device"},
		{"device a number", with(`"devices":[`, `"devices":[7,`), 2, "devices[0]", `found "7"`},
		{"device null", with(`"devices":[`, `"devices":[null,`), 2, "devices[0]", "found null"},
		{"id missing", with(`"id":"pedals",`, ``), 2, "devices[0].id", "found nothing"},
		{"id with a point", with(`"id":"pedals"`, `"id":"ped.als"`), 2, "devices[0].id", "letters, digits"},
		{"id empty", with(`"id":"pedals"`, `"id":""`), 2, "devices[0].id", "letters, digits"},
		{"id too long", with(`"id":"pedals"`, `"id":"`+strings.Repeat("p", 65)+`"`), 2, "devices[0].id", "1 to 64 letters"},
		{"id twice", with(`"devices":[`, `"devices":[{"id":"pedals","name":"","guid":"","axes":[]},`), 2, "devices[1].id", `as at devices[0].id`},
		{"axes missing", with(`"axes":[{"label":"r`, `"axles":[{"label":"r`), 2, "devices[0].axes", "found nothing"},
		{"axis text", with(`"axes":[`, `"axes":["rudder",`), 2, rudder, "a JSON object"},
		{"label with a colon", with(`"label":"rudder"`, `"label":"rud:der"`), 2, rudder + ".label", "letters, digits"},
		{"label twice", with(`"label":"left-brake"`, `"label":"rudder"`), 2, brake + ".label", "as at devices[0].axes[0].label"},
		{"label of another device", with(`"devices":[`, `"devices":[{"id":"a","name":"","guid":"","axes":[{"label":"rudder","index":0,"kind":"two-sided"}]},`),
			2, "devices[1].axes[0].label", "as at devices[0].axes[0].label"},
		{"index text", with(`"index":2`, `"index":"2"`), 2, rudder + ".index", "a whole number"},
		{"index broken", with(`"index":2`, `"index":2.5`), 2, rudder + ".index", "a whole number"},
		{"index below 0", with(`"index":2`, `"index":-2`), 2, rudder + ".index", "found -2"},
		{"index twice", with(`"index":2`, `"index":0`), 2, brake + ".index", "no other axis of the device has"},
		{"kind unknown", with(`"kind":"one-sided"`, `"kind":"three-sided"`), 2, brake + ".kind", `expected "two-sided" or "one-sided", found "three-sided"`},
		{"kind a number", with(`"kind":"one-sided"`, `"kind":1`), 2, brake + ".kind", `found "1"`},
		{"kind missing", with(`"kind":"one-sided",`, ``), 2, brake + ".kind", "found nothing"},
		{"usage not hexadecimal", with(`"0x0200ba"`, `"rudder"`), 2, rudder + ".usage", "a HID usage as in 0x0200ba"},
		{"filter a number", with(`"os_filter":{"fuzz":0,"flat":0}`, `"os_filter":3`), 2, rudder + ".os_filter", "a JSON object"},
		{"filter text", with(`"fuzz":0`, `"fuzz":"0"`), 2, rudder + ".os_filter.fuzz", "a whole number"},
		{"filter below 0", with(`"fuzz":0`, `"fuzz":-1`), 2, rudder + ".os_filter", "found -1 and 0"},
		{"raw bounds swapped", with(`"raw_min":0`, `"raw_min":1023`), 2, brake + ".raw_max", "more than raw_min (1023), found 1023"},
	})
}

// The writer refuses what the reader would.
func TestWriterRefusesHeaders(t *testing.T) {
	for name, spoil := range map[string]func(*input.Header){
		"rate_hz":                  func(h *input.Header) { h.RateHz = 0 },
		"started":                  func(h *input.Header) { h.Started = time.Date(12026, 1, 1, 0, 0, 0, 0, time.UTC) },
		"devices":                  func(h *input.Header) { h.Devices = nil },
		"devices[0].id":            func(h *input.Header) { h.Devices[0].ID = "a b" },
		"devices[0].axes[1].kind":  func(h *input.Header) { h.Devices[0].Axes[1].Kind = "" },
		"devices[0].axes[1].label": func(h *input.Header) { h.Devices[0].Axes[1].Label = "rudder" },
		"expected a comment":       func(h *input.Header) { h.Comments = []string{"a\nb"} },
		"the header cannot":        func(h *input.Header) { h.FlownWith = json.RawMessage(`{"open":`) },
	} {
		h := exampleHeader()
		spoil(&h)
		var b strings.Builder
		_, err := input.NewWriter(&b, h)
		if err == nil || !strings.HasPrefix(err.Error(), name) {
			t.Errorf("%s: %v", name, err)
		}
		if b.Len() != 0 {
			t.Errorf("%s: %q was written before the fault was found", name, b.String())
		}
	}
	for _, extra := range [][]string{{""}, {"phase"}, {"pedals.rudder"}, {"a", "a"}, {"a\nb"}, {"\xff"}} {
		if _, err := input.NewWriter(&strings.Builder{}, exampleHeader(), extra...); err == nil {
			t.Errorf("the extra columns %q were accepted", extra)
		}
	}
}

func TestHeaderMarshalsAsTheFileDoes(t *testing.T) {
	text, err := json.Marshal(exampleHeader())
	if err != nil {
		t.Fatal(err)
	}
	var got, want any
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatal(err)
	}
	line := strings.TrimPrefix(strings.Split(head, "\n")[1], "# ")
	if err := json.Unmarshal([]byte(line), &want); err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("marshals as\n%s\nwant\n%s", text, line)
	}
}

func TestExtraFieldsDoNotDisplaceKnownOnes(t *testing.T) {
	a := input.Axis{Label: "pitch", Kind: input.TwoSided,
		Extra: map[string]json.RawMessage{"label": json.RawMessage(`"roll"`), "z": json.RawMessage(`1`)}}
	text, err := json.Marshal(a)
	if want := `{"label":"pitch","index":0,"kind":"two-sided","z":1}`; err != nil || string(text) != want {
		t.Errorf("%s, %v, want %s", text, err, want)
	}
}

func TestValidName(t *testing.T) {
	for name, want := range map[string]bool{
		"rudder": true, "left-brake": true, "axis_2": true, "höhe": true, strings.Repeat("a", 64): true,
		"": false, "a.b": false, "a:b": false, "a,b": false, "a b": false, `a"`: false, "a#": false, "a\n": false,
		"\xff": false, strings.Repeat("a", 65): false,
	} {
		if input.ValidName(name) != want {
			t.Errorf("ValidName(%q) = %v", name, !want)
		}
	}
}

func TestParsePhase(t *testing.T) {
	for text, want := range map[string]input.Phase{
		"": {}, "rest": {Kind: input.Rest}, "release-low:rudder": {Kind: input.ReleaseLow, Label: "rudder"},
	} {
		got, err := input.ParsePhase(text)
		if err != nil || got != want || fmt.Sprint(got) != text {
			t.Errorf("ParsePhase(%q) = %+v, %v", text, got, err)
		}
	}
	for _, text := range []string{"pause", ":rudder", "rest:", "rest "} {
		if _, err := input.ParsePhase(text); err == nil || !strings.Contains(err.Error(), "release-high") {
			t.Errorf("ParsePhase(%q): %v, want an error that lists the phases", text, err)
		}
	}
}
