package bench

import (
	"bytes"
	"crypto/sha256"
	"encoding/base64"
	"errors"
	"fmt"
	"io"
	"math"
	"net/http"
	"strconv"
	"strings"

	"halfstick/cmd/halfstick/internal/sheet"
	"halfstick/cmd/halfstick/internal/text"
	"halfstick/curves"
	"halfstick/fit/translate"
)

// tableView is a table as the page shows it.
type tableView struct {
	Candidate string      `json:"candidate"`
	Says      string      `json:"says"`
	Rows      [][3]string `json:"rows"` // counts, position, command
	Text      string      `json:"text"` // to copy: position and command, a line a point
}

// tableOf is the table of an axis's chosen candidate, as the request asks for
// it: points, places, spacing.
func (b *Bench) tableOf(x *analysedAxis, r *http.Request) (curves.Table, string, error) {
	o := curves.TableOptions{Points: 21, Places: 1, Spacing: curves.Even}
	q := r.URL.Query()
	for name, into := range map[string]*int{"points": &o.Points, "places": &o.Places} {
		if !q.Has(name) {
			continue
		}
		n, err := strconv.Atoi(q.Get(name))
		if err != nil {
			return curves.Table{}, "", fmt.Errorf("%s: %q is no whole number", name, q.Get(name))
		}
		*into = n
	}
	if q.Has("spacing") {
		o.Spacing = q.Get("spacing")
	}
	if err := o.Check(); err != nil {
		return curves.Table{}, "", err
	}
	c := b.chosen(x)
	t, err := c.Axis.Response.Table(o)
	t.Label = x.label()
	return t, c.Name, err
}

func (b *Bench) tableView(x *analysedAxis, r *http.Request) (any, error) {
	t, name, err := b.tableOf(x, r)
	if err != nil {
		return nil, err
	}
	out := tableView{Candidate: name, Says: fmt.Sprintf("%d points; straight lines between them err by %s of full command at most",
		len(t.Points), text.PercentValue(t.MaxError))}
	var lines strings.Builder
	for _, p := range t.Points {
		out.Rows = append(out.Rows, [3]string{
			text.Number(float64(p.Counts), 0), text.Number(100*p.Position, t.Places), text.Number(100*p.Command, t.Places),
		})
		// To be pasted into other programs, so with a plain minus sign.
		fmt.Fprintf(&lines, "%.*f\t%.*f\n", t.Places, 100*p.Position+0, t.Places, 100*p.Command+0)
	}
	out.Text = lines.String()
	return out, nil
}

// tableFile is a table to keep: csv, json, or card, a page to print.
func (b *Bench) tableFile(w http.ResponseWriter, r *http.Request) {
	x, err := b.axisOf(r)
	if err != nil {
		refuse(w, http.StatusNotFound, err.Error())
		return
	}
	t, candidate, err := b.tableOf(x, r)
	if err != nil {
		refuse(w, http.StatusUnprocessableEntity, err.Error())
		return
	}
	var out bytes.Buffer
	kind := "text/csv; charset=utf-8"
	format := r.PathValue("format")
	switch format {
	case "csv":
		err = curves.WriteTablesCSV(&out, []curves.Table{t})
	case "json":
		kind = "application/json; charset=utf-8"
		err = curves.WriteTablesJSON(&out, []curves.Table{t})
	case "card":
		sendPage(w, func(to io.Writer) error {
			return sheet.RenderCard(to, b.config.Title+", "+candidate, []curves.Table{t})
		})
		return
	default:
		err = errors.New("a table comes as csv, json or card")
	}
	if err != nil {
		refuse(w, http.StatusUnprocessableEntity, err.Error())
		return
	}
	w.Header().Set("Content-Disposition", `attachment; filename="table.`+format+`"`)
	send(w, kind, out.Bytes())
}

// sendPage sends a page that brings its style with it. The policy lets exactly
// that style through.
func sendPage(w http.ResponseWriter, render func(io.Writer) error) {
	var out bytes.Buffer
	if err := render(&out); err != nil {
		refuse(w, http.StatusInternalServerError, err.Error())
		return
	}
	_, after, _ := strings.Cut(out.String(), "<style>")
	style, _, _ := strings.Cut(after, "</style>")
	sum := sha256.Sum256([]byte(style))
	w.Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'sha256-"+
		base64.StdEncoding.EncodeToString(sum[:])+"'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'")
	send(w, "text/html; charset=utf-8", out.Bytes())
}

// sheetFile is the printed sheet of the recording.
func (b *Bench) sheetFile(w http.ResponseWriter, _ *http.Request) {
	a := b.analysis.Load()
	if a == nil {
		refuse(w, http.StatusNotFound, errNothing.Error())
		return
	}
	sendPage(w, func(to io.Writer) error { return sheet.Render(to, a.sheet) })
}

// profileFile is the chosen responses as a profile to keep.
func (b *Bench) profileFile(w http.ResponseWriter, _ *http.Request) {
	p, err := b.profile()
	var out bytes.Buffer
	if err == nil {
		err = p.Write(&out)
	}
	if err != nil {
		refuse(w, http.StatusUnprocessableEntity, err.Error())
		return
	}
	w.Header().Set("Content-Disposition", `attachment; filename="profile.json"`)
	send(w, "application/json; charset=utf-8", out.Bytes())
}

// saved is where a profile was saved.
type saved struct {
	Path string `json:"path"`
}

func (b *Bench) save() (any, error) {
	path, err := b.saveProfile()
	return saved{path}, err
}

// translateWish is what a person notes of a program, as it is typed: numbers are
// read here, where a wrong one is named.
type translateWish struct {
	Readings     string `json:"readings"`      // lines of setting, position, command
	StraightAt   string `json:"straight_at"`   // setting at which the program is straight; empty is 0
	Low          string `json:"low"`           // the least setting, empty with high where unknown
	High         string `json:"high"`          // the largest one
	ReadingError string `json:"reading_error"` // percent; empty is 0.5
}

func (w translateWish) options() (translate.Options, error) {
	o := translate.Options{ReadingError: 0.005}
	number := func(text, what string, into *float64) error {
		if strings.TrimSpace(text) == "" {
			return nil
		}
		v, err := strconv.ParseFloat(strings.Replace(strings.TrimSpace(text), ",", ".", 1), 64)
		if err != nil {
			return fmt.Errorf("%s: %q is no number; write one such as 50", what, text)
		}
		*into = v
		return nil
	}
	percent := 100 * o.ReadingError
	low, high := math.NaN(), math.NaN()
	if err := errors.Join(number(w.StraightAt, "straight at", &o.StraightAt), number(w.ReadingError, "noted to", &percent),
		number(w.Low, "settings from", &low), number(w.High, "settings to", &high)); err != nil {
		return o, err
	}
	o.ReadingError = percent / 100
	if !math.IsNaN(low) || !math.IsNaN(high) {
		if low != math.Trunc(low) || high != math.Trunc(high) || math.Abs(low) > math.MaxInt32 || math.Abs(high) > math.MaxInt32 {
			return o, fmt.Errorf("settings from %s to %s: give two whole numbers, or leave both empty", w.Low, w.High)
		}
		o.Settings = &translate.Range{Low: int(low), High: int(high)}
	}
	return o, o.Check()
}

// translate answers which setting of a program that takes no table comes
// nearest to the chosen candidate.
func (b *Bench) translate(x *analysedAxis, r *http.Request) (any, error) {
	var wish translateWish
	if err := read(r, &wish); err != nil {
		return nil, err
	}
	o, err := wish.options()
	if err != nil {
		return nil, err
	}
	says, err := b.config.Translate(b.chosen(x).Axis, []byte(wish.Readings), o)
	if err != nil {
		return nil, err
	}
	return map[string]string{"says": says}, nil
}
