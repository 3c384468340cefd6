package sheet

import (
	"bytes"
	_ "embed"
	"errors"
	"fmt"
	"html/template"
	"io"

	"halfstick/curves"
	"halfstick/fit/measure"
	"halfstick/fit/propose"
	"halfstick/input"
)

// Data is what a sheet is made of.
type Data struct {
	Title      string // the rig, in its owner's words
	Tool       string // program and version
	Recordings []Recording
	// Change is what differs from an older recording; nil leaves the section
	// "since last time" out.
	Change *measure.Change
	// Proposal may be nil: the sheet then shows measurements and findings alone.
	Proposal *propose.Proposal
	// Normal is the normal deflection that the proposal was made for, a share
	// of half-throw (0.5); 0 does not mark it.
	Normal float64
	// Table says which breakpoints to print; the zero value stands for 21 at
	// even distances, to a tenth of a percent.
	Table curves.TableOptions
}

// Recording is one recording and what was measured in it.
type Recording struct {
	File        string
	Header      *input.Header        // may be nil
	Measurement *measure.Measurement // may be nil
}

var (
	//go:embed sheet.html
	source string
	//go:embed parts.html
	partsSource string
	//go:embed sheet.css
	style string

	page = template.Must(template.New("sheet").
		Funcs(template.FuncMap{"add": func(a, b int) int { return a + b }}).Parse(partsSource + source))
)

// Render writes the sheet. It writes nothing when it fails before it is done
// with the page; a failure after that is w's.
func Render(w io.Writer, d Data) error {
	if len(d.Recordings) == 0 {
		return errors.New("no recording to make a sheet of: name at least one")
	}
	var b bytes.Buffer
	if err := page.Execute(&b, pageOf(d)); err != nil {
		return fmt.Errorf("sheet of %s: %w", d.Title, err)
	}
	_, err := b.WriteTo(w)
	return err
}
