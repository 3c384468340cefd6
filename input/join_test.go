package input

import (
	"encoding/json"
	"strings"
	"testing"
)

func joinable(labels []string, phase Phase, counts ...[]int16) *Recording {
	rec := &Recording{Header: Header{RateHz: 500}}
	device := Device{ID: "pedals", GUID: strings.Repeat("0", 32)}
	for i, label := range labels {
		device.Axes = append(device.Axes, Axis{Label: label, Index: i, Kind: TwoSided})
		rec.Columns = append(rec.Columns, columnOf(i, counts[i]...))
	}
	rec.Header.Devices = []Device{device}
	for row := range counts[0] {
		rec.Times.Append(int64(row) * 2000)
	}
	rec.Stretches = []Stretch{{Phase: phase, From: 0, To: len(counts[0])}}
	return rec
}

// columnOf is a column of an axis that is there in every row.
func columnOf(axis int, counts ...int16) Column {
	c := Column{Axis: axis}
	for _, v := range counts {
		c.Append(v, true)
	}
	return c
}

func TestJoinMatchesColumnsAndGoesOnInTime(t *testing.T) {
	a := joinable([]string{"x", "y"}, Phase{Kind: Rest}, []int16{1, 2}, []int16{3, 4})
	b := joinable([]string{"y", "x"}, Phase{Kind: Rest}, []int16{7, 8, 9}, []int16{5, 6, 7})
	b.Columns[0] = columnOf(0, 7)
	b.Columns[0].Append(8, false)
	b.Columns[0].Append(9, true)
	joined, err := Join([]*Recording{a, b}, []string{"a", "b"})
	if err != nil {
		t.Fatal(err)
	}
	wantTimes := []int64{0, 2000, 4000, 6000, 8000}
	wantX, wantY := []int16{1, 2, 5, 6, 7}, []int16{3, 4, 7, 0, 9}
	for i := range wantTimes {
		if joined.Times.At(i) != wantTimes[i] || joined.Columns[0].At(i) != wantX[i] || joined.Columns[1].At(i) != wantY[i] {
			t.Errorf("row %d: %d µs, %d, %d; want %d µs, %d, %d", i, joined.Times.At(i),
				joined.Columns[0].At(i), joined.Columns[1].At(i), wantTimes[i], wantX[i], wantY[i])
		}
	}
	for i, want := range []bool{true, true, true, false, true} {
		if joined.Columns[1].PresentAt(i) != want {
			t.Errorf("row %d: y is there: %v", i, !want)
		}
	}
	if len(joined.Stretches) != 2 || joined.Stretches[1].From != 2 || joined.Stretches[1].To != 5 {
		t.Errorf("stretches are %v; two rests recorded apart stay two", joined.Stretches)
	}
	if a.Rows() != 2 || b.Columns[0].Len() != 3 {
		t.Error("the recordings themselves were changed")
	}
}

// A rate that no clock has must not put the first row of one recording at the
// time of the last of another.
func TestJoinedTimesRiseAtAnyRate(t *testing.T) {
	a := joinable([]string{"x"}, Phase{Kind: Rest}, []int16{1})
	a.Header.RateHz = 1e300
	joined, err := Join([]*Recording{a, a}, []string{"a", "b"})
	if err != nil {
		t.Fatal(err)
	}
	if joined.Times.At(1) <= joined.Times.At(0) {
		t.Errorf("times are %v", joined.Times)
	}
}

func TestJoinRefusesOtherDevicesAndOtherProfiles(t *testing.T) {
	a := joinable([]string{"x"}, Phase{Kind: Flight}, []int16{1})
	b := joinable([]string{"z"}, Phase{Kind: Flight}, []int16{1})
	if _, err := Join([]*Recording{a, b}, []string{"a", "b"}); err == nil || !strings.Contains(err.Error(), "b has no two-sided axis pedals.x") {
		t.Errorf("other axes: %v", err)
	}
	c := joinable([]string{"x"}, Phase{Kind: Flight}, []int16{1})
	c.Header.FlownWith = json.RawMessage(`{"format": "halfstick profile 1"}`)
	if _, err := Join([]*Recording{a, c}, []string{"a", "c"}); err == nil || !strings.Contains(err.Error(), "flown with different profiles") {
		t.Errorf("other profile: %v", err)
	}
	rest := joinable([]string{"x"}, Phase{Kind: Rest}, []int16{1})
	joined, err := Join([]*Recording{rest, c}, []string{"rest", "c"})
	if err != nil || string(joined.Header.FlownWith) != string(c.Header.FlownWith) {
		t.Errorf("a rest recorded without the profile: %v, %s", err, joined.Header.FlownWith)
	}
}
