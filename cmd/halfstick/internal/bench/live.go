package bench

import (
	"encoding/json"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"sync"
	"time"

	"halfstick/cmd/halfstick/internal/bench/hub"
	"halfstick/cmd/halfstick/internal/bench/tryit"
	"halfstick/curves"
	"halfstick/input"
)

const (
	// framesPerSecond is how often a page gets what has come.
	framesPerSecond = 60
	// patience is how long a page may leave a frame unread before the stream
	// ends. The sampler does not wait for it either way.
	patience = 5 * time.Second
)

// streams are the pages that are open.
type streams struct {
	mu   sync.Mutex
	open map[string]*stream
}

// stream is what one page wants to see besides the rows.
type stream struct {
	mu    sync.Mutex
	axis  string // whose marks
	marks *marks // what it tries, nil while it does not
}

// marks are those of the try-it: by the straight response and the chosen one.
type marks struct {
	straight, chosen tryit.Mark
	lastUS           int64
}

func (s *streams) add() (id string, added *stream) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.open == nil {
		s.open = map[string]*stream{}
	}
	id, added = newToken(), &stream{}
	s.open[id] = added
	return id, added
}

func (s *streams) remove(id string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	delete(s.open, id)
}

func (s *streams) find(id string) *stream {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.open[id]
}

// watch sets what a page wants to see. A try begins in the middle.
func (s *stream) watch(axis string, try bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.axis, s.marks = axis, nil
	if try {
		s.marks = &marks{}
	}
}

// live streams to one page until it goes away.
func (b *Bench) live(w http.ResponseWriter, r *http.Request) {
	w.Header().Set("Content-Type", "text/event-stream; charset=utf-8")
	id, s := b.add()
	defer b.remove(id)
	out := &events{w: w, control: http.NewResponseController(w)}
	out.send("hello", map[string]any{"stream": id, "seconds": keptSeconds})
	f := frames{bench: b, stream: s, reader: b.sampler.hub.Reader()}
	tick := time.NewTicker(time.Second / framesPerSecond)
	defer tick.Stop()
	for {
		f.send(out)
		if out.flush() != nil {
			return
		}
		select {
		case <-r.Context().Done():
			return
		case <-tick.C:
		}
	}
}

// events writes server-sent events.
type events struct {
	w       http.ResponseWriter
	control *http.ResponseController
	err     error
	unsent  bool
}

func (e *events) send(name string, data any) {
	text, err := json.Marshal(data)
	if err != nil {
		e.err = err
		return
	}
	e.sendText(name, text)
}

func (e *events) sendText(name string, text []byte) {
	if e.err != nil {
		return
	}
	if err := e.control.SetWriteDeadline(time.Now().Add(patience)); err != nil {
		e.err = err
		return
	}
	_, e.err = fmt.Fprintf(e.w, "event: %s\ndata: %s\n\n", name, text)
	e.unsent = true
}

func (e *events) flush() error {
	if e.err == nil && e.unsent {
		e.err, e.unsent = e.control.Flush(), false
	}
	return e.err
}

// frames makes the frames of one page.
type frames struct {
	bench  *Bench
	stream *stream
	reader *hub.Reader
	batch  hub.Batch
	text   []byte

	rig       sampled
	revisions revisions
	guide     string
	began     bool
}

// send sends whatever is new.
func (f *frames) send(out *events) {
	if now := f.bench.revisionsNow(); now != f.revisions || !f.began {
		f.revisions, f.began = now, true
		out.send("revisions", now)
	}
	if guide, _ := json.Marshal(f.bench.guideState()); string(guide) != f.guide {
		f.guide = string(guide)
		out.sendText("guide", guide)
	}
	f.reader.Next(&f.batch)
	if f.batch.Rows() == 0 {
		return
	}
	if f.rig = f.bench.rigNow(); f.batch.Rig != f.rig.Number {
		return // between two rigs
	}
	f.text = f.append(f.text[:0])
	out.sendText("rows", f.text)
}

// append writes the batch as JSON, axis by axis; null where an axis is absent.
// Commands are in percent; an axis without a response has none.
func (f *frames) append(to []byte) []byte {
	b := &f.batch
	to = fmt.Appendf(to, `{"rig":%d,"lost":%d,"t":`, f.rig.Number, b.Lost)
	to = appendList(to, b.Rows(), func(to []byte, i int) []byte { return strconv.AppendInt(to, b.AtUS[i], 10) })
	counts, commands := append(to, `,"counts":[`...), []byte(nil)
	column := 0
	for _, d := range f.rig.Devices {
		for _, a := range d.Axes {
			at := column
			if column > 0 {
				counts, commands = append(counts, ','), append(commands, ',')
			}
			counts = appendList(counts, b.Rows(), func(to []byte, i int) []byte {
				if !b.Present[i*b.Axes+at] {
					return append(to, "null"...)
				}
				return strconv.AppendInt(to, int64(b.Counts[i*b.Axes+at]), 10)
			})
			commands = f.appendCommands(commands, a, at)
			column++
		}
	}
	to = append(append(append(counts, `],"command":[`...), commands...), ']')
	to = f.appendNow(to)
	return append(to, '}')
}

func (f *frames) appendCommands(to []byte, a input.Axis, column int) []byte {
	response, ok := f.bench.response(a.Label, curves.Kind(a.Kind))
	if !ok {
		return append(to, "null"...)
	}
	b := &f.batch
	return appendList(to, b.Rows(), func(to []byte, i int) []byte {
		if !b.Present[i*b.Axes+column] {
			return append(to, "null"...)
		}
		return strconv.AppendFloat(to, 100*response.FromCounts(float64(b.Counts[i*b.Axes+column])), 'f', 3, 64)
	})
}

func appendList(to []byte, n int, item func([]byte, int) []byte) []byte {
	to = append(to, '[')
	for i := range n {
		if i > 0 {
			to = append(to, ',')
		}
		to = item(to, i)
	}
	return append(to, ']')
}

// appendNow adds what the watched axis does now: words, and the places of the
// marks on its figures; nothing of an axis that is not there.
func (f *frames) appendNow(to []byte) []byte {
	f.stream.mu.Lock()
	defer f.stream.mu.Unlock()
	found, ok := findAxis(f.rig.Devices, f.stream.axis)
	axis, column := found.axis, found.column
	b := &f.batch
	last := b.Rows() - 1
	if !ok || !b.Present[last*b.Axes+column] {
		return to
	}
	now := nowOf(f.bench, axis, float64(b.Counts[last*b.Axes+column]))
	if m := f.stream.marks; m != nil {
		if response, ok := f.bench.response(axis.Label, curves.Kind(axis.Kind)); ok {
			now.Try = f.try(m, response, column)
		}
	}
	text, err := json.Marshal(now)
	if err != nil {
		return to
	}
	return append(append(to, `,"now":`...), text...)
}

// foundAxis is an axis, whose it is, and its column among all of them.
type foundAxis struct {
	device input.Device
	axis   input.Axis
	column int
}

func findAxis(devices []input.Device, label string) (foundAxis, bool) {
	column := 0
	for _, d := range devices {
		for _, a := range d.Axes {
			if a.Label == label {
				return foundAxis{d, a, column}, true
			}
			column++
		}
	}
	return foundAxis{}, false
}

// tried is where the marks of the try-it are, and the commands that move them.
type tried struct {
	Straight float64 `json:"straight"`
	Chosen   float64 `json:"chosen"`
	Says     string  `json:"says"`
}

// longestStep bounds the time between two rows that a mark is moved on by.
const longestStep = 0.1

// try moves the marks on through every row.
func (f *frames) try(m *marks, response curves.Response, column int) *tried {
	b := &f.batch
	straight := straightOf(&response)
	for i, at := range b.AtUS {
		seconds := float64(at-m.lastUS) / 1e6
		m.lastUS = at
		if seconds <= 0 || seconds > longestStep || !b.Present[i*b.Axes+column] {
			continue
		}
		counts := float64(b.Counts[i*b.Axes+column])
		m.straight.Step(response.Kind, straight.FromCounts(counts), seconds)
		m.chosen.Step(response.Kind, response.FromCounts(counts), seconds)
	}
	round := func(v float64) float64 { return math.Round(v*1e4) / 1e4 }
	return &tried{Straight: round(m.straight.Place), Chosen: round(m.chosen.Place),
		Says: fmt.Sprintf("straight at %.0f, chosen at %.0f of 100", 100*m.straight.Place, 100*m.chosen.Place)}
}
