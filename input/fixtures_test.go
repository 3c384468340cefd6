package input_test

import (
	"encoding/json"
	"strings"
	"testing"
	"time"

	"halfstick/input"
)

// head is the head of a recording as the format's description gives it, with
// fields that are not known.
const head = `# halfstick recording 1
# {"started":"2026-11-25T10:00:00Z","rate_hz":500,"source":"sdl 2.26.5 linux","devices":[{"id":"pedals","name":"Example Pedals","guid":"03000000aaaa0000bbbb000000010000","axes":[{"label":"rudder","index":2,"kind":"two-sided","usage":"0x0200ba","os_filter":{"fuzz":0,"flat":0}},{"label":"left-brake","index":0,"kind":"one-sided","raw_min":0,"raw_max":1023,"smell":"rubber"}],"colour":["grey"]}],"flown_with":{"format":"halfstick profile 1","axes":[]},"mood":{"a":1}}
t_us,phase,pedals.rudder,pedals.left-brake
`

const rows = `0,rest,112,-32768
2000,rest,48,-32768
4001,,50,
6000,sweep:rudder,-32768,32767
`

func intPtr(n int) *int { return &n }

// exampleHeader is what head says.
func exampleHeader() input.Header {
	return input.Header{
		Started: time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC),
		RateHz:  500,
		Source:  "sdl 2.26.5 linux",
		Devices: []input.Device{{
			ID: "pedals", Name: "Example Pedals", GUID: "03000000aaaa0000bbbb000000010000",
			Axes: []input.Axis{
				{Label: "rudder", Index: 2, Kind: input.TwoSided, Usage: "0x0200ba", OSFilter: &input.OSFilter{}},
				{Label: "left-brake", Index: 0, Kind: input.OneSided, RawMin: intPtr(0), RawMax: intPtr(1023),
					Extra: map[string]json.RawMessage{"smell": json.RawMessage(`"rubber"`)}},
			},
			Extra: map[string]json.RawMessage{"colour": json.RawMessage(`["grey"]`)},
		}},
		FlownWith: json.RawMessage(`{"format":"halfstick profile 1","axes":[]}`),
		Extra:     map[string]json.RawMessage{"mood": json.RawMessage(`{"a":1}`)},
	}
}

// timesOf are the times of all rows.
func timesOf(rec *input.Recording) []int64 {
	var out []int64
	for _, at := range rec.Times.All() {
		out = append(out, at)
	}
	return out
}

func mustRead(t testing.TB, text string) *input.Recording {
	t.Helper()
	rec, err := input.Read(strings.NewReader(text), "test.csv")
	if err != nil {
		t.Fatal(err)
	}
	return rec
}

func mustWrite(t testing.TB, rec *input.Recording) string {
	t.Helper()
	var b strings.Builder
	if err := rec.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}
