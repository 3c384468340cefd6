package sheet

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"strings"

	"halfstick/cmd/halfstick/internal/figures"
	"halfstick/cmd/halfstick/internal/text"
	"halfstick/curves"
)

//go:embed card.html
var cardSource string

var card = template.Must(template.New("card").Parse(cardSource))

// cardTable is a table with its numbers as they are to be typed.
type cardTable struct {
	Label, MaxError string
	Rows            []cardRow
}

type cardRow struct {
	Number                    int
	Position, Command, Counts string
}

// RenderCard writes tables as a page to print and type from, one A4 page an
// axis. Title says what they are from. It writes nothing when it fails before
// it is done with the page; a failure after that is w's.
func RenderCard(w io.Writer, title string, tables []curves.Table) error {
	data := struct {
		Title  string
		Style  template.CSS
		Tables []cardTable
	}{Title: title, Style: template.CSS(figures.Style() + style)}
	for _, t := range tables {
		c := cardTable{Label: t.Label, MaxError: strings.ReplaceAll(text.PercentValue(t.MaxError), " ", "\u00a0")}
		for i, p := range t.Points {
			c.Rows = append(c.Rows, cardRow{
				Number:   i + 1,
				Position: text.Number(100*p.Position, t.Places),
				Command:  text.Number(100*p.Command, t.Places),
				Counts:   text.Number(float64(p.Counts), 0),
			})
		}
		data.Tables = append(data.Tables, c)
	}
	var b bytes.Buffer
	if err := card.Execute(&b, data); err != nil {
		return fmt.Errorf("card of %s: %w", title, err)
	}
	_, err := b.WriteTo(w)
	return err
}
