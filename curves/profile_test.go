package curves

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"reflect"
	"strings"
	"testing"
	"testing/iotest"

	"pgregory.net/rapid"
)

// example is a profile of the file format, with fields that nobody knows.
const example = `{"format":"halfstick profile 1","written":{"by":"someone"},
 "axes":[{"device":{"name":"Example Pedals","guid":"03000000000000000000000000000000","shelf":2},
   "index":2,"label":"rudder","kind":"two-sided",
   "calibration":{"low":-31800,"centre":112,"high":32250,"warm":true},
   "deadband":{"low":0.034,"high":0.021},
   "end_margin":{"low":0.01,"high":0.01},
   "shape":{"low":{"kind":"power","exponent":1.62,"note":"a < b & c"},"high":{"kind":"points","points":[[0,0],[0.5,0.2],[1,1]]}},
   "reasons":["worn from -0.2 to 0.1"],"colour":null},
  {"device":{"name":"Example Pedals","guid":""},
   "index":0,"label":"left-brake","kind":"one-sided",
   "calibration":{"low":-32000,"high":32000},
   "deadband":{"low":0.05},"end_margin":{"high":0.02},
   "shape":{"high":{"kind":"blend","share":0.4}}}]}
`

func mustParse(t testing.TB, text string) *Profile {
	t.Helper()
	p, err := ParseProfile([]byte(text), "pedals.json")
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func written(t testing.TB, p *Profile) string {
	t.Helper()
	var b bytes.Buffer
	if err := p.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestReadProfile(t *testing.T) {
	p, err := ReadProfile(strings.NewReader("\xef\xbb\xbf"+example), "pedals.json")
	if err != nil {
		t.Fatal(err)
	}
	a, err := p.Axis("rudder")
	if err != nil {
		t.Fatal(err)
	}
	want := rudder()
	want.High = a.Response.High
	if !reflect.DeepEqual(a.Response, want) || a.Index != 2 || a.Device != (DeviceRef{"Example Pedals", "03000000000000000000000000000000"}) ||
		!reflect.DeepEqual(a.Reasons, []string{"worn from -0.2 to 0.1"}) {
		t.Errorf("read %+v", a)
	}
	if nodes := a.Response.High.(*Points).Nodes(); !reflect.DeepEqual(nodes, [][2]float64{{0, 0}, {0.5, 0.2}, {1, 1}}) {
		t.Errorf("points %v", nodes)
	}
	brake, err := p.Axis("left-brake")
	if err != nil {
		t.Fatal(err)
	}
	if r := brake.Response; r.Kind != OneSided || r.Low != nil || r.High != (Blend{0.4}) || r.Deadband != (Sides{Low: 0.05}) || r.EndMargin != (Sides{High: 0.02}) {
		t.Errorf("read %+v", r)
	}
	if _, err := p.Axis("flaps"); err == nil || err.Error() != `axis "flaps" is not in the profile; it has rudder, left-brake` {
		t.Errorf("the error is %v", err)
	}
	if _, err := new(Profile).Axis("flaps"); err == nil || !strings.Contains(err.Error(), "no axes") {
		t.Errorf("the error is %v", err)
	}
}

// Unknown fields stay where they were, at every depth, and a second writing
// changes nothing.
func TestUnknownFieldsAreKept(t *testing.T) {
	first := written(t, mustParse(t, example))
	var got map[string]any
	if err := json.Unmarshal([]byte(first), &got); err != nil {
		t.Fatal(err)
	}
	axis := got["axes"].([]any)[0].(map[string]any)
	for _, c := range []struct{ have, want any }{
		{got["written"], map[string]any{"by": "someone"}},
		{axis["device"].(map[string]any)["shelf"], 2.0},
		{axis["calibration"].(map[string]any)["warm"], true},
		{axis["shape"].(map[string]any)["low"].(map[string]any)["note"], "a < b & c"},
	} {
		if !reflect.DeepEqual(c.have, c.want) {
			t.Errorf("kept %v, expected %v", c.have, c.want)
		}
	}
	if colour, ok := axis["colour"]; !ok || colour != nil {
		t.Error("a field that is null is lost")
	}
	if !strings.Contains(first, "a < b & c") {
		t.Error("a text is written with escapes for web pages")
	}
	if second := written(t, mustParse(t, first)); second != first {
		t.Errorf("written again:\n%s\nfirst:\n%s", second, first)
	}
}

// The file is laid out for people: an axis's parts each on a line.
func TestProfileLayout(t *testing.T) {
	p := &Profile{Axes: []ProfileAxis{{
		Device: DeviceRef{Name: "Example Pedals", GUID: "0300"}, Index: 2, Label: "rudder", Response: rudder(), Reasons: []string{"quiet"},
	}}}
	const want = `{
 "format": "halfstick profile 1",
 "axes": [
  {
   "device": {"name":"Example Pedals","guid":"0300"},
   "index": 2,
   "label": "rudder",
   "kind": "two-sided",
   "calibration": {"low":-31800,"centre":112,"high":32250},
   "deadband": {"low":0.034,"high":0.021},
   "end_margin": {"low":0.01,"high":0.01},
   "shape": {"low":{"kind":"power","exponent":1.62},"high":{"kind":"power","exponent":1.62}},
   "reasons": ["quiet"]
  }
 ]
}
`
	if got := written(t, p); got != want {
		t.Errorf("written:\n%s", got)
	}
}

func TestProfileRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := &Profile{extras: extras{}}
		for i := range rapid.IntRange(1, 3).Draw(t, "axes") {
			p.Axes = append(p.Axes, ProfileAxis{
				Device:   DeviceRef{Name: rapid.String().Draw(t, "name"), GUID: rapid.StringMatching("[0-9a-f]{32}").Draw(t, "guid")},
				Index:    rapid.IntRange(0, 40).Draw(t, "index"),
				Label:    fmt.Sprintf("%s %d", rapid.StringMatching(`[^\x00-\x1f\x7f]*`).Draw(t, "label"), i),
				Response: anyResponse().Draw(t, "response"),
				Reasons:  rapid.SliceOfN(rapid.String(), 1, 3).Draw(t, "reasons"),
				extras:   extras{},
			})
		}
		var b bytes.Buffer
		if err := p.Write(&b); err != nil {
			t.Fatal(err)
		}
		back, err := ReadProfile(&b, "p.json")
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(back, p) {
			t.Fatalf("comes back as %+v", back)
		}
	})
}

// A profile and an axis can stand in other JSON.
func TestProfileWithinOtherFiles(t *testing.T) {
	p := mustParse(t, example)
	data, err := json.Marshal(map[string]any{"whole": p, "one": p.Axes[0]})
	if err != nil {
		t.Fatal(err)
	}
	var back struct {
		Whole Profile
		One   ProfileAxis
	}
	if err := json.Unmarshal(data, &back); err != nil {
		t.Fatal(err)
	}
	// The outer encoder escapes unknown texts for web pages; their meaning stays.
	if got, want := decoded(t, written(t, &back.Whole)), decoded(t, written(t, p)); !reflect.DeepEqual(got, want) {
		t.Errorf("comes back as %v", got)
	}
	if !reflect.DeepEqual(back.One.Response, p.Axes[0].Response) {
		t.Errorf("comes back as %+v", back.One)
	}
	var axis ProfileAxis
	for _, bad := range []string{`{}`, `[]`, strings.Replace(firstAxis(), "0.034", "7", 1)} {
		if err := json.Unmarshal([]byte(bad), &axis); err == nil {
			t.Errorf("%s is read as an axis", bad)
		}
	}
	if err := json.Unmarshal([]byte(`{"axes":3}`), &back.Whole); err == nil {
		t.Error("a profile without format is read")
	}
}

func decoded(t *testing.T, text string) (value any) {
	t.Helper()
	if err := json.Unmarshal([]byte(text), &value); err != nil {
		t.Fatal(err)
	}
	return value
}

func firstAxis() string {
	start := strings.Index(example, `{"device"`)
	end := strings.Index(example, `,"colour":null}`)
	return example[start:end] + "}"
}

func TestProfileErrors(t *testing.T) {
	for _, c := range []struct{ old, new, says string }{
		{`"exponent":1.62`, `"exponent":-1`, "pedals.json: axes[0].shape.low.exponent: is -1, expected 0.2 to 8; 1 is straight, above 1 is finer around the centre"},
		{`"exponent":1.62`, `"exponent":"1.62"`, `pedals.json: axes[0].shape.low.exponent: is "1.62", expected a number`},
		{`"exponent":1.62`, `"exponent":1e999`, "pedals.json: axes[0].shape.low.exponent: is 1e999, expected a number"},
		{`"exponent":1.62`, `"power":1.62`, "pedals.json: axes[0].shape.low.exponent: is missing, expected a number"},
		{`"exponent":1.62`, `"exponent":2,"exponent":3`, "pedals.json: axes[0].shape.low.exponent: is there twice, expected once"},
		{`"share":0.4`, `"share":1.2`, "pedals.json: axes[1].shape.high.share: is 1.2, expected -0.5 to 1"},
		{`"kind":"blend"`, `"kind":"wave"`, `pedals.json: axes[1].shape.high.kind: is "wave", expected "straight", "power", "blend" or "points"`},
		{`{"kind":"blend","share":0.4}`, `"blend"`, `pedals.json: axes[1].shape.high: is "blend", expected an object`},
		{`[0.5,0.2]`, `[0.5,0.9],[0.6,0.8]`, "pedals.json: axes[0].shape.high.points[2]: is [0.6,0.8], expected a command of at least 0.9; a response never falls"},
		{`[0.5,0.2]`, `[0.5]`, "pedals.json: axes[0].shape.high.points[1]: is [0.5], expected two numbers, [position, command]"},
		{`[0.5,0.2]`, `[0.5,null]`, "pedals.json: axes[0].shape.high.points[1]: is [0.5,null], expected two numbers"},
		{`[[0,0],[0.5,0.2],[1,1]]`, `{}`, "pedals.json: axes[0].shape.high.points: is {}, expected a list"},
		{`"low":-31800`, `"low":-40000`, "pedals.json: axes[0].calibration.low: is -40000, expected -32768 to 32767"},
		{`"centre":112,`, ``, "pedals.json: axes[0].calibration.centre: is missing, expected a number"},
		{`"low":0.034`, `"low":-0.1`, "pedals.json: axes[0].deadband.low: is -0.1, expected 0 to 0.999"},
		{`"deadband":{"low":0.05}`, `"deadband":{"low":0.05,"high":0.1}`, "pedals.json: axes[1].deadband.high: is 0.1, expected 0; a one-sided axis"},
		{`"index":2`, `"index":2.5`, "pedals.json: axes[0].index: is 2.5, expected a whole number from 0"},
		{`"index":2`, `"index":-1`, "pedals.json: axes[0].index: is -1, expected a whole number from 0"},
		{`"index":2`, `"index":null`, "pedals.json: axes[0].index: is null, expected a number"},
		{`"label":"rudder"`, `"label":""`, `pedals.json: axes[0].label: is "", expected a name of one line`},
		{`"label":"rudder"`, `"label":"a\nb"`, `pedals.json: axes[0].label: is "a\nb", expected a name of one line`},
		{`"label":"rudder"`, `"label":null`, "pedals.json: axes[0].label: is null, expected a text"},
		{`"label":"left-brake"`, `"label":"rudder"`, `pedals.json: axes[1].label: is "rudder", expected a label of its own; axes[0] has it already`},
		{`"kind":"two-sided"`, `"kind":"both"`, `pedals.json: axes[0].kind: is "both", expected "two-sided" or "one-sided"`},
		{`"name":"Example Pedals",`, ``, "pedals.json: axes[0].device.name: is missing, expected a text"},
		{`["worn from -0.2 to 0.1"]`, `"worn"`, `pedals.json: axes[0].reasons: is "worn", expected a list`},
		{`["worn from -0.2 to 0.1"]`, `["worn",3]`, "pedals.json: axes[0].reasons[1]: is 3, expected a text"},
		{"halfstick profile 1", "halfstick profile 2", `pedals.json: format: is "halfstick profile 2", expected "halfstick profile 1"; this file is something else`},
		{`"format":"halfstick profile 1",`, ``, "pedals.json: format: is missing, expected a text"},
		{`"index":2,"label"`, `"index":2 "label"`, "pedals.json:3:14: is not JSON (invalid character '\"' after object key:value pair), expected a profile in JSON"},
		{example, ``, "pedals.json: is empty, expected a profile in JSON"},
		{example, "\x00\x01\x02", "pedals.json:1:1: is not JSON"},
		{example, `{"format":`, "pedals.json:1:10: is not JSON (unexpected end of JSON input)"},
		{example, `[]`, "pedals.json: is [], expected an object"},
		{example, `{"format":"halfstick profile 1","axes":[]}`, "pedals.json: axes: is empty, expected at least one axis"},
		{example, `{"format":"halfstick profile 1","axes":null}`, "pedals.json: axes: is null, expected a list"},
		{example, `{"format":"halfstick profile 1","axes":[3]}`, "pedals.json: axes[0]: is 3, expected an object"},
		{`"rudder"`, "\"r\xfcdder\"", "pedals.json:3:1: is not text in UTF-8, expected a profile in JSON; save the file as UTF-8"},
		{example, "\xff\xfe{\x00", "pedals.json:1:1: is not text in UTF-8"},
		{example, "\x1f\x8b\x08\x00", "pedals.json:1:1: is not text in UTF-8"},
		{example, strings.ReplaceAll(example, ":", ": \x00"), "pedals.json:1:12: is not JSON (invalid character '\\x00' looking for beginning of value)"},
		{example, strings.Repeat(`{"axes":[`, 20_000), "pedals.json:1:45001: is not JSON (invalid character '{' exceeded max depth)"},
		{`"shelf":2`, `"shelf":` + strings.Repeat("[", 9_999) + strings.Repeat("]", 9_999), "pedals.json:2:10091: is not JSON (invalid character '[' exceeded max depth)"},
		{`"index":2,`, `"index":2,"` + strings.Repeat("x", 5_000_000) + `":1,"index":2,`, "pedals.json: axes[0].index: is there twice"},
		{`"index":2,`, `"index":1e300,`, "pedals.json: axes[0].index: is 1e+300, expected a whole number from 0"},
		{`"low":-31800`, `"low":NaN`, "pedals.json:4:25: is not JSON (invalid character 'N'"},
		{`"low":-31800`, `"low":-31800,5`, "pedals.json:4:32: is not JSON"},
		{`"low":-31800`, `"low":-1e308`, "pedals.json: axes[0].calibration.low: is -1e+308, expected"},
		{`[0.5,0.2]`, `[0.5,0.2],[0.4,0.3]`, "pedals.json: axes[0].shape.high.points[2]: is [0.4,0.3], expected a position above 0.5"},
		{`"label":"rudder"`, `"label":"\u001b[2J"`, `pedals.json: axes[0].label: is "\x1b[2J", expected a name of one line`},
		{example, `{"format":"halfstick profile 1","axes":[` + strings.Repeat(firstAxis()+",", 256) + firstAxis() + `]}`, "pedals.json: axes: is 257 long, expected at most 256 axes"},
		{example, "# halfstick recording 1\n", "pedals.json:1:1: is not JSON (invalid character '#'"},
		{example, strings.Repeat(" ", maxProfileBytes+1), "pedals.json: is over 8388608 bytes, expected a profile"},
	} {
		text := strings.Replace(example, c.old, c.new, 1)
		if text == example {
			t.Fatalf("%q is not in the example", c.old)
		}
		_, err := ReadProfile(strings.NewReader(text), "pedals.json")
		var field *FieldError
		if err == nil || !errors.As(err, &field) || !strings.HasPrefix(err.Error(), c.says) {
			t.Errorf("the error is\n%v, expected\n%s", err, c.says)
		}
	}
	if _, err := ReadProfile(iotest.ErrReader(errors.New("gone")), "pedals.json"); err == nil || !strings.Contains(err.Error(), "pedals.json: cannot be read: gone") {
		t.Errorf("the error is %v", err)
	}
}

// Nothing is written of a profile that could not be read again.
func TestWriteRefuses(t *testing.T) {
	for says, spoil := range map[string]func(*Profile){
		"profile not written: axes: is empty":                                     func(p *Profile) { p.Axes = nil },
		"profile not written: axes[0].shape.high.exponent: is -1":                 func(p *Profile) { p.Axes[0].Response.High = Power{-1} },
		"profile not written: axes[1].index: is -1":                               func(p *Profile) { p.Axes[1].Index = -1 },
		"profile not written: axes[1].label":                                      func(p *Profile) { p.Axes[1].Label = "rudder" },
		"axes[1]: shape.high: is curves.foreign, expected straight, power, blend": func(p *Profile) { p.Axes[1].Response.High = foreign{Straight{}} },
	} {
		p := mustParse(t, example)
		spoil(p)
		var b bytes.Buffer
		if err := p.Write(&b); err == nil || !strings.HasPrefix(err.Error(), says) || b.Len() > 0 {
			t.Errorf("the error is %v and %d bytes are written, expected %q", err, b.Len(), says)
		}
	}
}

// FuzzProfile: whatever the bytes, reading does not panic; what is read can be
// written, and reads back as the same.
func FuzzProfile(f *testing.F) {
	f.Add([]byte(example))
	f.Add([]byte(`{"format":"halfstick profile 1","axes":[` + firstAxis() + `]}`))
	f.Add([]byte(strings.Replace(example, "0.5,0.2", "0.5,0.2],[0.50001,0.2", 1)))
	f.Add([]byte(strings.Replace(example, `"shelf":2`, `"shelf":{"\u0000":[[[{}]]]}`, 1)))
	f.Add([]byte(`{"format":`))
	f.Add([]byte(""))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := ParseProfile(data, "fuzz")
		if err != nil {
			var field *FieldError
			if !errors.As(err, &field) || field.Want == "" || !strings.HasPrefix(err.Error(), "fuzz:") || strings.Contains(err.Error(), "\n") {
				t.Fatalf("the error %q has no place, or no cause, or several lines", err)
			}
			return
		}
		first := written(t, p)
		back, err := ParseProfile([]byte(first), "fuzz")
		if err != nil {
			t.Fatalf("%v in what was written:\n%s", err, first)
		}
		if second := written(t, back); second != first {
			t.Fatalf("written again:\n%s\nfirst:\n%s", second, first)
		}
		for i := range p.Axes {
			for _, counts := range []float64{-32768, -1, 0, 1, 32767} {
				a, b := p.Axes[i].Response.FromCounts(counts), back.Axes[i].Response.FromCounts(counts)
				if a != b || a < -1 || a > 1 {
					t.Fatalf("%v counts command %v and %v", counts, a, b)
				}
			}
		}
	})
}
