package sheet

import (
	"bytes"
	"encoding/xml"
	"errors"
	"io"
	"os"
	"strings"
	"testing"
	"time"

	"halfstick/cmd/halfstick/internal/figures/fixture"
	"halfstick/curves"
	"halfstick/fit/measure"
	"halfstick/fit/propose"
	"halfstick/input"
)

// keep, if set, is where the full sheet goes to be looked at:
// SHEET_FILE=/tmp/sheet.html go test ./cmd/halfstick/internal/sheet
var keep = os.Getenv("SHEET_FILE")

func full() Data {
	h := &input.Header{
		Started: time.Date(2026, 11, 25, 10, 0, 0, 0, time.UTC), RateHz: 500, Source: "sdl 2.26.5 linux",
		Devices: []input.Device{
			{ID: "pedals", Name: "Old Pedals", GUID: "03000000ffff00000a0b000011010000", Axes: []input.Axis{{Label: "rudder", Index: 2}}},
			{ID: "stick", Name: "Quiet Stick", GUID: "03000000ffff00000a0c000011010000", Axes: []input.Axis{{Label: "lever", Index: 3}}},
		},
	}
	m := &measure.Measurement{Recording: "desk.csv", Axes: []measure.Axis{*fixture.Rudder(), *fixture.Lever()}}
	p := fixture.Proposal(&m.Axes[0], &m.Axes[1])
	lever := &p.Axes[1].Profile.Response
	lever.Deadband.High, lever.EndMargin.Low = 0, 0
	return Data{
		Title: "The desk rig", Tool: "halfstick 0.1.0", Normal: 0.5, Proposal: p,
		Recordings: []Recording{{File: "desk.csv", Header: h, Measurement: m}},
	}
}

func render(t *testing.T, d Data) string {
	t.Helper()
	var b bytes.Buffer
	if err := Render(&b, d); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// outline parses a sheet, which is well-formed as XML too, and returns the ids
// of its axis sections and how often each element occurs.
func outline(t *testing.T, page string) (axes []string, count map[string]int) {
	t.Helper()
	count = map[string]int{}
	d := xml.NewDecoder(strings.NewReader(page))
	d.Entity = xml.HTMLEntity
	for {
		token, err := d.Token()
		if errors.Is(err, io.EOF) {
			return axes, count
		}
		if err != nil {
			t.Fatalf("the sheet does not parse: %v", err)
		}
		if e, ok := token.(xml.StartElement); ok {
			count[e.Name.Local]++
			for _, a := range e.Attr {
				if a.Name.Local == "id" && e.Name.Local == "section" {
					axes = append(axes, a.Value)
				}
				if strings.HasPrefix(strings.ToLower(a.Name.Local), "on") {
					t.Errorf("<%s> has the handler %s", e.Name.Local, a.Name.Local)
				}
			}
		}
	}
}

func TestEveryAxisHasItsSection(t *testing.T) {
	page := render(t, full())
	if keep != "" {
		if err := os.WriteFile(keep, []byte(page), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	axes, count := outline(t, page)
	if got := strings.Join(axes, " "); got != "axis-1 axis-2" {
		t.Errorf("sections %q", got)
	}
	// Four figures of the rudder; the lever has no returns.
	if count["svg"] != 7 {
		t.Errorf("%d figures, want 7", count["svg"])
	}
	if count["script"] != 0 || count["link"] != 0 || count["img"] != 0 || count["iframe"] != 0 {
		t.Errorf("elements that a sheet must not have: %v", count)
	}
	for _, says := range []string{
		"50 % → 68 %", "56 → 77 noise-free levels", "03000000ffff00000a0b000011010000", "25 November 2026, 10:00 UTC",
		"sdl 2.26.5 linux", "desk.csv", "halfstick 0.1.0", "84 to 89", "cubic blend, share 0.49", "return gap",
		"Not measured: range used; noise-free levels", "invented for a test", "as it is", "at 50 %",
		"low stop −31804, centre 112, high stop 32251 counts", "21 points", "−31804",
	} {
		if !strings.Contains(page, says) {
			t.Errorf("the sheet does not say %q", says)
		}
	}
}

// The bold row is the proposed curve; with the sides apart it is each side's, not
// that of both together.
func TestProposedCurveIsMarked(t *testing.T) {
	marked := func(d Data) string {
		var rows []string
		for _, row := range strings.Split(render(t, d), `<tr class="chosen"><th scope="row">`)[1:] {
			name, _, _ := strings.Cut(row, "<")
			rows = append(rows, name)
		}
		return strings.Join(rows, ", ")
	}
	d := full()
	if got, want := marked(d), "cubic blend 0.49, cubic blend 0.49"; got != want {
		t.Errorf("marked %q, want %q", got, want)
	}
	fit := func(share float64) []propose.Fit { return []propose.Fit{{Family: "blend", Parameter: share}} }
	d.Proposal.Axes[0].Sides = []propose.SideProposal{{Side: "low", Fits: fit(0.4)}, {Side: "high", Fits: fit(0.6)}}
	if got, want := marked(d), "low side: cubic blend 0.40, high side: cubic blend 0.60, cubic blend 0.49"; got != want {
		t.Errorf("with the sides apart %q, want %q", got, want)
	}
}

func TestNothingFromOutside(t *testing.T) {
	page := render(t, full())
	page = strings.ReplaceAll(page, `xmlns="http://www.w3.org/2000/svg"`, "")
	for _, outside := range []string{"http:", "https:", "<script", "url(", "@import", "src=", "javascript:"} {
		if strings.Contains(page, outside) {
			t.Errorf("the sheet holds %q", outside)
		}
	}
}

func TestFindingsInOrderOfWeight(t *testing.T) {
	page := render(t, full())
	page = page[strings.Index(page, `id="axis-1"`):]
	last := 0
	for _, says := range []string{"4.4 times as noisy", "872 counts short", "tremble by 86", "single readings a minute"} {
		at := strings.Index(page, says)
		if at < last {
			t.Errorf("%q is at %d, before a graver finding at %d", says, at, last)
		}
		last = at
	}
	if summary := full(); findings(summary.Recordings[0].Measurement.Axes[0].Findings)[0].Severity != "repair" {
		t.Error("the gravest finding is not a repair")
	}
}

func TestHostileNamesAreEscaped(t *testing.T) {
	const hostile = `</title></style></svg><script>alert(1)</script><img src=x onerror=alert(1)>"'&`
	d := full()
	d.Title, d.Tool = hostile, hostile
	r := &d.Recordings[0]
	r.File, r.Header.Source = hostile, hostile
	r.Header.Devices[0].Name, r.Header.Devices[0].GUID = hostile, hostile
	a := &r.Measurement.Axes[0]
	a.Label, a.Notes, a.Rest.Sigma.Method, a.Rest.Sigma.Unit = hostile, []string{hostile}, hostile, hostile
	a.Findings[0].Says, a.Findings[0].Advice = hostile, hostile
	d.Proposal.Axes[0].Reasons = []string{hostile}
	page := render(t, d)
	_, count := outline(t, page)
	if count["script"] != 0 || count["img"] != 0 || strings.Contains(page, "<script") {
		t.Errorf("a name became markup: %v", count)
	}
	if !strings.Contains(page, "&lt;script&gt;alert(1)") {
		t.Error("the hostile name is not on the sheet at all")
	}
}

func TestSheetsOfScantData(t *testing.T) {
	bare := full()
	bare.Proposal = nil
	page := render(t, bare)
	if strings.Contains(page, "Resolution share") || strings.Contains(page, `class="shape"`) {
		t.Error("a sheet without a proposal speaks of one")
	}
	outline(t, page)

	empty := Data{Recordings: []Recording{
		{}, {Header: &input.Header{}}, {Measurement: &measure.Measurement{Axes: []measure.Axis{{Label: "x", Kind: "two-sided"}, {Kind: "one-sided"}}}},
	}, Proposal: fixture.Proposal()}
	if axes, _ := outline(t, render(t, empty)); len(axes) != 2 {
		t.Errorf("sections %q, want 2", axes)
	}

	unsound := full()
	unsound.Proposal.Axes[0].Profile.Response = curves.Response{}
	if page := render(t, unsound); !strings.Contains(page, "does not hold together") {
		t.Error("an unsound response passes without a word")
	}
	tight := full()
	tight.Table = curves.TableOptions{Points: 2, Places: 1, Spacing: curves.Even}
	if page := render(t, tight); !strings.Contains(page, "No table: ") {
		t.Error("a table that cannot be made passes without a word")
	}
	if err := Render(io.Discard, Data{}); err == nil {
		t.Error("a sheet of nothing was rendered")
	}
}

// A proposal that was read back from somewhere does not point at this
// measurement; device, index and label must do.
func TestProposalIsFoundByDeviceAndLabel(t *testing.T) {
	d := full()
	for i := range d.Proposal.Axes {
		s := &d.Proposal.Axes[i]
		s.Measured = nil
		s.Profile.Device.GUID = d.Recordings[0].Header.Devices[i].GUID
	}
	if page := render(t, d); strings.Count(page, "<p class=\"shape\">") != 2 {
		t.Error("proposals are not matched to their axes")
	}
	d.Proposal.Axes[0].Profile.Device.GUID = "another"
	if page := render(t, d); strings.Count(page, "<p class=\"shape\">") != 1 {
		t.Error("another device's proposal is taken for this axis")
	}
}

type failing struct{}

func (failing) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestWriteErrorIsReported(t *testing.T) {
	if err := Render(failing{}, full()); err == nil {
		t.Error("a failed write went unnoticed")
	}
}
