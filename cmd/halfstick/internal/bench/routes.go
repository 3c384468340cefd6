package bench

import (
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"

	"halfstick/cmd/halfstick/internal/figures"
	"halfstick/cmd/halfstick/internal/sheet"
)

//go:embed web
var web embed.FS

var index = template.Must(template.ParseFS(web, "web/index.html"))

// mostBody bounds what a page can send.
const mostBody = 64 << 10

// Handler serves the page and what stands behind it.
func (b *Bench) Handler() http.Handler {
	files, err := fs.Sub(web, "web")
	if err != nil {
		panic(err) // the folder is embedded
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", b.page)
	mux.Handle("GET /web/", http.StripPrefix("/web/", http.FileServerFS(files)))
	mux.HandleFunc("GET /sheet.css", css(sheet.Style))
	mux.HandleFunc("GET /figures.css", css(figures.Style))
	mux.HandleFunc("GET /live", b.live)
	mux.HandleFunc("GET /state", b.answer(func(*http.Request) (any, error) { return b.stateNow(), nil }))
	mux.HandleFunc("GET /axis/{label}/part/{part}", b.part)
	mux.HandleFunc("GET /axis/{label}/figure/{name}", b.figure)
	mux.HandleFunc("GET /axis/{label}/shape", b.ofAxis(func(x *analysedAxis, _ *http.Request) (any, error) { return b.shapeOf(x) }))
	mux.HandleFunc("GET /axis/{label}/table", b.ofAxis(b.tableView))
	mux.HandleFunc("GET /axis/{label}/table/{format}", b.tableFile)
	mux.HandleFunc("GET /profile.json", b.profileFile)
	mux.HandleFunc("GET /sheet", b.sheetFile)

	mux.HandleFunc("POST /watch", b.answer(b.watchAxis))
	mux.HandleFunc("POST /look", b.answer(func(*http.Request) (any, error) { return nil, b.sampler.look() }))
	mux.HandleFunc("POST /guide", b.answer(b.guideAction))
	mux.HandleFunc("POST /flight", b.answer(b.flightAction))
	mux.HandleFunc("POST /recording", b.answer(b.chooseRecording))
	mux.HandleFunc("POST /axis/{label}/shape", b.ofAxis(b.changeShape))
	mux.HandleFunc("POST /axis/{label}/translate", b.ofAxis(b.translate))
	mux.HandleFunc("POST /name", b.answer(b.nameAxis))
	mux.HandleFunc("POST /save", b.answer(func(*http.Request) (any, error) { return b.save() }))
	return newGuard(b.token, mux)
}

// page is the one page there is.
func (b *Bench) page(w http.ResponseWriter, _ *http.Request) {
	var out bytes.Buffer
	err := index.Execute(&out, struct{ Token, Title, Simulated string }{b.token, b.config.Title, b.config.Simulated})
	if err != nil {
		refuse(w, http.StatusInternalServerError, "the page cannot be made: "+err.Error())
		return
	}
	send(w, "text/html; charset=utf-8", out.Bytes())
}

func css(style func() string) http.HandlerFunc {
	return func(w http.ResponseWriter, _ *http.Request) { send(w, "text/css; charset=utf-8", []byte(style())) }
}

// send sends a body that was made before anything was sent.
func send(w http.ResponseWriter, kind string, body []byte) {
	w.Header().Set("Content-Type", kind)
	_, _ = w.Write(body) // a browser that has gone is none of our business
}

// problem is an error as the page shows it.
type problem struct {
	Error string `json:"error"`
}

// answer sends what f returns as JSON; an error of f as one that a person reads.
func (b *Bench) answer(f func(*http.Request) (any, error)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		r.Body = http.MaxBytesReader(w, r.Body, mostBody)
		value, err := f(r)
		status := http.StatusOK
		if err != nil {
			value, status = problem{err.Error()}, http.StatusUnprocessableEntity
		}
		body, err := json.Marshal(value)
		if err != nil {
			refuse(w, http.StatusInternalServerError, err.Error())
			return
		}
		w.Header().Set("Content-Type", "application/json; charset=utf-8")
		w.WriteHeader(status)
		_, _ = w.Write(body)
	}
}

// ofAxis is answer for the axis in the path.
func (b *Bench) ofAxis(f func(*analysedAxis, *http.Request) (any, error)) http.HandlerFunc {
	return b.answer(func(r *http.Request) (any, error) {
		x, err := b.axisOf(r)
		if err != nil {
			return nil, err
		}
		return f(x, r)
	})
}

func (b *Bench) axisOf(r *http.Request) (*analysedAxis, error) {
	a := b.analysis.Load()
	if a == nil {
		return nil, errNothing
	}
	label := r.PathValue("label")
	x := a.axis(label)
	if x == nil { // a page may not know yet that it goes by another name
		b.mu.Lock()
		x = a.axis(b.renamed[label])
		b.mu.Unlock()
	}
	if x == nil {
		return nil, fmt.Errorf("the recording has no axis %q; load the page anew", label)
	}
	return x, nil
}

// read reads a request's JSON.
func read(r *http.Request, into any) error {
	d := json.NewDecoder(r.Body)
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return fmt.Errorf("the request cannot be understood: %w; load the page anew", err)
	}
	return nil
}

// part is a part of an axis's section of the sheet.
func (b *Bench) part(w http.ResponseWriter, r *http.Request) {
	x, err := b.axisOf(r)
	if err != nil {
		refuse(w, http.StatusNotFound, err.Error())
		return
	}
	part := sheet.Part(r.PathValue("part"))
	switch part {
	case sheet.Share, sheet.Measured, sheet.Proposal, sheet.Methods:
	default:
		refuse(w, http.StatusNotFound, "the sheet has no such part")
		return
	}
	var out bytes.Buffer
	if err := sheet.RenderPart(&out, b.analysis.Load().sheet, x.measured, part); err != nil {
		refuse(w, http.StatusInternalServerError, err.Error())
		return
	}
	send(w, "text/html; charset=utf-8", out.Bytes())
}

// figure is a figure of an axis, for a page that has figures.css.
func (b *Bench) figure(w http.ResponseWriter, r *http.Request) {
	x, err := b.axisOf(r)
	if err != nil {
		refuse(w, http.StatusNotFound, err.Error())
		return
	}
	var f *figures.Figure
	switch name := r.PathValue("name"); name {
	case "paper":
		f = x.paper
	case "flown":
		f = x.flown
	default:
		for i, n := range figureNames(x) {
			if n == name {
				f = x.figures[i]
			}
		}
	}
	if f == nil {
		refuse(w, http.StatusNotFound, "the axis has no such figure")
		return
	}
	send(w, "image/svg+xml; charset=utf-8", []byte(f.Inline()))
}
