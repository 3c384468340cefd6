package input_test

import (
	"encoding/json"
	"reflect"
	"strings"
	"testing"
	"time"

	"halfstick/input"

	"pgregory.net/rapid"
)

// Any recording that can be made is the same after it was written and read,
// and the file is the same after it was read and written.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		rec := drawRecording(t)
		var first, second strings.Builder
		if err := rec.Write(&first); err != nil {
			t.Fatal(err)
		}
		got, err := input.Read(strings.NewReader(first.String()), "drawn.csv")
		if err != nil {
			t.Fatalf("%v, in\n%s", err, first.String())
		}
		if !reflect.DeepEqual(got, rec) {
			t.Fatalf("read\n%+v\nwant\n%+v\nfile\n%s", got, rec, first.String())
		}
		if err := got.Write(&second); err != nil {
			t.Fatal(err)
		}
		if first.String() != second.String() {
			t.Fatalf("wrote\n%s\nthen\n%s", first.String(), second.String())
		}
	})
}

var (
	names   = rapid.StringMatching(`[a-z_äß0-9-]{1,12}`)
	values  = rapid.SampledFrom([]string{`null`, `0`, `-1.50e3`, `"<a&b> \u2028\u00e4 \" ü"`, `[1,[{}]]`, `{"b":1,"a":[null]}`})
	anyText = rapid.String()
	oneLine = rapid.Map(anyText, func(s string) string { return strings.NewReplacer("\n", "", "\r", "").Replace(s) })
	counts  = rapid.Int16()
)

func drawExtra(t *rapid.T) map[string]json.RawMessage {
	// None of these is a field of the format.
	keys := rapid.SliceOfNDistinct(rapid.SampledFrom([]string{"", "mood", "a b", "Ü<", "\"q\""}), 0, 3, rapid.ID).Draw(t, "keys")
	if len(keys) == 0 {
		return nil
	}
	extra := map[string]json.RawMessage{}
	for _, k := range keys {
		extra[k] = json.RawMessage(values.Draw(t, "value"))
	}
	return extra
}

func drawHeader(t *rapid.T) input.Header {
	h := input.Header{
		Started: time.Unix(rapid.Int64Range(-60e9, 250e9).Draw(t, "s"), rapid.Int64Range(0, 999_999_999).Draw(t, "ns")).UTC(),
		RateHz:  rapid.Float64Range(1e-3, 1e5).Draw(t, "rate"),
		Source:  anyText.Draw(t, "source"),
		Extra:   drawExtra(t),
	}
	if rapid.Bool().Draw(t, "flown") {
		h.FlownWith = json.RawMessage(`{"format":"halfstick profile 1","axes":[]}`)
	}
	if n := rapid.IntRange(0, 2).Draw(t, "comments"); n > 0 {
		h.Comments = rapid.SliceOfN(oneLine, n, n).Draw(t, "comment")
	}
	labels := rapid.SliceOfNDistinct(names, 1, 5, rapid.ID).Draw(t, "labels")
	ids := rapid.SliceOfNDistinct(names, len(labels), len(labels), rapid.ID).Draw(t, "ids")
	for len(labels) > 0 {
		n := rapid.IntRange(1, len(labels)).Draw(t, "axes")
		d := input.Device{ID: ids[len(h.Devices)], Name: anyText.Draw(t, "name"), GUID: anyText.Draw(t, "guid"), Extra: drawExtra(t)}
		for i, label := range labels[:n] {
			d.Axes = append(d.Axes, drawAxis(t, label, i))
		}
		h.Devices = append(h.Devices, d)
		labels = labels[n:]
	}
	return h
}

func drawAxis(t *rapid.T, label string, i int) input.Axis {
	a := input.Axis{
		Label: label, Index: 7 * i,
		Kind:  rapid.SampledFrom([]input.Kind{input.TwoSided, input.OneSided}).Draw(t, "kind"),
		Usage: rapid.SampledFrom([]string{"", "0x0200ba", "0x010030"}).Draw(t, "usage"),
		Extra: drawExtra(t),
	}
	if rapid.Bool().Draw(t, "filtered") {
		a.OSFilter = &input.OSFilter{Fuzz: 255, Flat: rapid.IntRange(0, 4095).Draw(t, "flat"), Extra: drawExtra(t)}
	}
	if rapid.Bool().Draw(t, "bounded") {
		a.RawMin, a.RawMax = intPtr(rapid.IntRange(-32768, 0).Draw(t, "min")), intPtr(1023)
	}
	return a
}

// drawRecording makes a recording as the reader would: neighbouring stretches
// differ, absent counts are 0, Present is nil where nothing was absent.
func drawRecording(t *rapid.T) *input.Recording {
	rec := &input.Recording{Header: drawHeader(t)}
	phases := []input.Phase{{}, {Kind: input.Rest}, {Kind: input.Flight}}
	rows := rapid.IntRange(0, 12).Draw(t, "rows")
	for di, d := range rec.Header.Devices {
		for ai, a := range d.Axes {
			phases = append(phases, input.Phase{Kind: input.Sweep, Label: a.Label}, input.Phase{Kind: input.ReleaseHigh, Label: a.Label})
			rec.Columns = append(rec.Columns, drawColumn(t, di, ai, rows))
		}
	}
	for _, name := range rapid.SliceOfNDistinct(oneLine, 0, 3, rapid.ID).Draw(t, "extra columns") {
		if name == "" || name == "t_us" || name == "phase" || strings.Contains(name, ".") {
			continue // a name of the format, or perhaps one
		}
		x := input.ExtraColumn{Name: name}
		if rows > 0 {
			x.Cells = rapid.SliceOfN(anyText, rows, rows).Draw(t, "cells")
		}
		rec.Extra = append(rec.Extra, x)
	}
	drawComments := func(row int) {
		for range rapid.IntRange(0, 2).Draw(t, "comments") {
			rec.Comments = append(rec.Comments, input.Comment{Row: row, Text: oneLine.Draw(t, "comment")})
		}
	}
	at := int64(-1)
	for i := range rows {
		drawComments(i)
		at += rapid.Int64Range(1, 1<<46).Draw(t, "step") // twelve stay below what a time may be
		rec.Times.Append(at)
		p := rapid.SampledFrom(phases).Draw(t, "phase")
		if last := len(rec.Stretches) - 1; last >= 0 && rec.Stretches[last].Phase == p {
			rec.Stretches[last].To++
		} else {
			rec.Stretches = append(rec.Stretches, input.Stretch{Phase: p, From: i, To: i + 1})
		}
	}
	drawComments(rows)
	return rec
}

func drawColumn(t *rapid.T, device, axis, rows int) input.Column {
	c := input.Column{Device: device, Axis: axis}
	if rows == 0 {
		return c
	}
	drawn := rapid.SliceOfN(counts, rows, rows).Draw(t, "counts")
	for i, there := range rapid.SliceOfN(rapid.Bool(), rows, rows).Draw(t, "present") {
		c.Append(drawn[i], there)
	}
	return c
}
