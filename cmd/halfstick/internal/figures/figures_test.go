package figures

import (
	"bytes"
	"encoding/xml"
	"errors"
	"image/png"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"halfstick/cmd/halfstick/internal/figures/fixture"
	"halfstick/curves"
	"halfstick/fit/measure"
)

// pictures keeps what the tests draw, to be looked at:
// FIGURES_DIR=/tmp/figures go test ./cmd/halfstick/internal/figures
var pictures = os.Getenv("FIGURES_DIR")

func six() []NamedCurve {
	r := fixture.Proposal(fixture.Rudder()).Axes[0].Profile.Response
	two := curves.TwoSided
	return []NamedCurve{
		OfShape("straight", two, curves.Straight{}), OfShape("power 1.6", two, curves.Power{Exponent: 1.6}),
		OfShape("blend 0.4", two, curves.Blend{Share: 0.4}), OfShape("power 0.7", two, curves.Power{Exponent: 0.7}),
		OfShape("blend 0.9", two, curves.Blend{Share: 0.9}),
		{Name: "a-rather-long-profile-name.json#rudder", Response: &r},
	}
}

// every is each figure with all of its data.
func every() map[string]*Figure {
	a := fixture.Rudder()
	p := fixture.Proposal(a, fixture.Lever())
	r, lever := &p.Axes[0].Profile.Response, &p.Axes[1].Profile.Response
	lever.Deadband.High, lever.EndMargin.Low = 0, 0
	part := ReplayPart{Label: "rudder"}
	for i := range 5000 {
		s := float64(i) / 500
		u := 0.3 * (s/5 - 1) * (s/5 - 1.4)
		n := (a.Plots.RestCounts[i] - 112) / 32000
		part.Seconds = append(part.Seconds, 60+s)
		part.Before, part.After = append(part.Before, u+n), append(part.After, r.Command(u+n))
		part.JitterBefore, part.JitterAfter = append(part.JitterBefore, n), append(part.JitterAfter, n*r.Slope(u))
	}
	one, two := curves.OneSided, curves.TwoSided
	return map[string]*Figure{
		"curves": Curves(six(), 0.001),
		"curves-one-sided": Curves([]NamedCurve{OfShape("straight", one, curves.Straight{}), OfShape("power 1.6", one, curves.Power{Exponent: 1.6}),
			OfShape("blend 1", one, curves.Blend{Share: 1}), {Name: "lever", Response: lever}}, 0.001),
		"rest": Rest(a), "rest-quiet": Rest(fixture.Lever()), "returns": Returns(a, r), "noise": Noise(a),
		"response": Response("rudder", r, 0.5), "response-one-sided": Response("lever", lever, 0.5), "replay": Replay(part),
		"shaping": Shaping(two, 0.5), "shaping-one-sided": Shaping(one, 0.5), "flown": Flown(part),
	}
}

func write(t *testing.T, name string, f *Figure, format string) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := f.Write(&b, format); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if pictures != "" {
		if err := os.WriteFile(filepath.Join(pictures, name+"."+format), b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return b.Bytes()
}

// wellFormed reads an SVG and returns its text elements.
func wellFormed(t *testing.T, name string, svg []byte) []string {
	t.Helper()
	var texts []string
	inside := false
	for d := xml.NewDecoder(bytes.NewReader(svg)); ; {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return texts
		}
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		switch e := token.(type) {
		case xml.StartElement:
			inside = e.Name.Local == "text"
			for _, a := range e.Attr {
				if strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") {
					t.Errorf("%s: <%s %s=%q>", name, e.Name.Local, a.Name.Local, a.Value)
				}
			}
		case xml.EndElement:
			inside = false
		case xml.CharData:
			if inside {
				texts = append(texts, string(e))
			}
		}
	}
}

func TestEveryFigureIsASelfContainedSVG(t *testing.T) {
	for name, f := range every() {
		svg := write(t, name, f, "svg")
		texts := wellFormed(t, name, svg)
		if len(texts) < 8 {
			t.Errorf("%s has only the texts %q", name, texts)
		}
		plain := strings.ReplaceAll(string(svg), `xmlns="http://www.w3.org/2000/svg"`, "")
		for _, outside := range []string{"http:", "https:", "<script", "url(", "@import", "<image"} {
			if strings.Contains(plain, outside) {
				t.Errorf("%s holds %q", name, outside)
			}
		}
		if f.Says() == "" || !strings.Contains(f.Inline(), "<title>") || strings.Contains(f.Inline(), "<style") {
			t.Errorf("%s: inline figure lacks its description or brings a style sheet of its own", name)
		}
	}
}

// A colour without a class would keep its paper value on a dark page.
func TestEveryColourFollowsThePage(t *testing.T) {
	for name, f := range every() {
		for tag := range strings.SplitSeq(f.Inline(), "<") {
			for _, attribute := range []string{"fill", "stroke"} {
				if strings.Contains(tag, attribute+`="#`) && !strings.Contains(tag, attribute+"-") {
					t.Errorf("%s: no class for the %s of <%.120s", name, attribute, tag)
				}
			}
			if strings.HasPrefix(tag, "text") && !strings.Contains(tag, `class="fill-`) {
				t.Errorf("%s: text without a colour of the theme: <%.120s", name, tag)
			}
		}
	}
}

func TestEveryFigureIsAPNG(t *testing.T) {
	all := every()
	for _, name := range []string{"rest"} { // encoding is slow, above all under the race detector
		f := all[name]
		picture, err := png.Decode(bytes.NewReader(write(t, name, f, "png")))
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		if got, want := picture.Bounds().Dx(), int(f.width)*4; got < want-4 || got > want+4 {
			t.Errorf("%s is %d pixels wide, want about %d", name, got, want)
		}
	}
}

func TestEachAxisOfAFigureHasItsUnit(t *testing.T) {
	all := every()
	for name, units := range map[string][]string{
		"curves":     {"position, % of half-throw", "command, % of full", "command per position", "% of full command, RMS"},
		"rest":       {"time, s", "counts", "% of readings"},
		"returns":    {"counts", "from low side", "from high side", "deadband"},
		"noise":      {"position, % of half-throw", "σ, counts", "worn band", "at rest"},
		"response":   {"position, %", "command, %", "straight", "proposed", "−100", "100"},
		"replay":     {"time, s", "command, % of full", "before", "after"},
		"rest-quiet": {"time, s"},
	} {
		texts := strings.Join(wellFormed(t, name, []byte(all[name].Inline())), "\n") + "\n"
		for _, unit := range units {
			if !strings.Contains(texts, unit+"\n") {
				t.Errorf("%s does not say %q", name, unit)
			}
		}
	}
}

func TestEachCurveIsNamedInEveryPanel(t *testing.T) {
	counted := map[string]int{}
	for _, s := range wellFormed(t, "curves", []byte(Curves(six(), 0.001).Inline())) {
		counted[s]++
	}
	for _, c := range six() {
		if name := shorten(c.Name, nameLetters); counted[name] != 3 {
			t.Errorf("%q is named %d times, want 3", name, counted[name])
		}
	}
}

func TestFiguresWithoutDataSaySo(t *testing.T) {
	empty := &measure.Axis{Label: "<rudder> & \"more\""}
	nan := fixture.Rudder()
	nan.Sweep.Bands = []measure.Band{{Span: measure.Span{From: -1, To: 1}}}
	for name, f := range map[string]*Figure{
		"curves": Curves(nil, 0.001), "curves nil": Curves([]NamedCurve{{Name: "none"}}, 0.001),
		"rest": Rest(nil), "rest empty": Rest(empty), "returns": Returns(nil, nil), "returns empty": Returns(empty, nil),
		"returns of a lever": Returns(fixture.Lever(), nil), "noise": Noise(nil), "noise empty": Noise(empty), "noise nil": Noise(nan),
		"response": Response("", nil, 0), "replay": Replay(ReplayPart{}),
		"replay uneven": Replay(ReplayPart{Seconds: []float64{1, 2}, Before: []float64{1}}),
	} {
		if texts := wellFormed(t, name, write(t, "empty", f, "svg")); len(texts) != 2 {
			t.Errorf("%s says %q, want a title and a reason", name, texts)
		}
	}
}

// Data may be scant: one reading, one release, no intervals, one constant code.
func TestFiguresOfScantData(t *testing.T) {
	a := fixture.Rudder()
	a.Step, a.Rest.Sigma, a.Sweep.WornFrom = nil, nil, nil
	a.Return = measure.Return{FromLow: &measure.ReturnSide{}}
	a.Plots.RestSeconds, a.Plots.RestCounts = []float64{0, 1}, []float64{7, 7}
	a.Plots.Returns = a.Plots.Returns[:1]
	a.Sweep.Bands = []measure.Band{{Span: measure.Span{From: -1, To: 1}, Sigma: &measure.Quantity{}}}
	for name, f := range map[string]*Figure{
		"rest": Rest(a), "returns": Returns(a, nil), "noise": Noise(a),
		"replay": Replay(ReplayPart{Seconds: []float64{1, 2}, Before: []float64{0, 0}, After: []float64{0, 0}}),
	} {
		wellFormed(t, name, write(t, "scant-"+strings.ReplaceAll(name, " ", "-"), f, "svg"))
	}
}

func TestHostileNamesAreEscaped(t *testing.T) {
	hostile := `</svg><script>alert(1)</script>"&`
	f := Curves([]NamedCurve{OfShape(hostile, curves.TwoSided, curves.Straight{})}, 0.001)
	if strings.Contains(f.Inline(), "<script") {
		t.Error("a name became markup")
	}
	wellFormed(t, "hostile", []byte(f.Inline()))
}

func TestFormat(t *testing.T) {
	for path, want := range map[string]string{"a.svg": "svg", "b.PNG": "png", "dir.svg/c.png": "png"} {
		if got, err := Format(path); err != nil || got != want {
			t.Errorf("Format(%q) = %q, %v, want %q", path, got, err, want)
		}
	}
	for _, path := range []string{"a", "a.pdf", "svg"} {
		if _, err := Format(path); err == nil {
			t.Errorf("Format(%q) gave no error", path)
		}
	}
	if err := Rest(nil).Write(io.Discard, "pdf"); err == nil {
		t.Error("a PDF was written")
	}
}
