package bench

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"sync/atomic"
	"time"

	"halfstick/cmd/halfstick/internal/bench/session"
	"halfstick/curves"
	"halfstick/fit/propose"
	"halfstick/fit/translate"
	"halfstick/input"
)

// Config says what the bench works on.
type Config struct {
	// Open opens the rig; it is called, polled and closed on one goroutine.
	Open   func() (input.Source, error)
	RateHz float64
	Clock  input.Clock // of the sampling; nil is the machine's
	Folder string      // of the session
	Title  string      // of the sheet
	Tool   string      // program and version
	// Simulated is what to say of a simulated rig, empty for a real one.
	Simulated string
	// Begin is a recording to look at first, empty for the session's.
	Begin string
	// Prepare makes a recording to begin with where the session has none, and
	// returns its path; nil begins without one.
	Prepare func(context.Context) (string, error)
	// Translate answers in words which setting of a program with one
	// unlabelled number comes nearest to a response.
	Translate func(axis curves.ProfileAxis, readings []byte, o translate.Options) (string, error)
	Options   propose.Options
}

// Bench is the server behind the page.
type Bench struct {
	config   Config
	token    string
	session  *session.Session
	sampler  *sampler
	analysis atomic.Pointer[analysis]
	// unfinished is the recording that is looked at, if it can be gone on with.
	unfinished atomic.Pointer[unfinished]
	responses
	streams

	mu       sync.Mutex
	busy     string // what is being worked out, in words
	problem  string // why that failed
	revision uint64 // rises with both, and with guided recordings
	guided   *guided
	flight   *flight
	renamed  map[string]string // axes by their old labels; replaced, never changed

	began    atomic.Bool   // Begin has been looked at
	measured atomic.Uint64 // how many analyses there were
	work     sync.WaitGroup
	ctx      context.Context
}

// New opens the session. Close it by the end of Run.
func New(c Config) (*Bench, error) {
	if err := c.Options.Check(); err != nil {
		return nil, err
	}
	s, err := session.Open(c.Folder)
	if err != nil {
		return nil, err
	}
	return &Bench{config: c, token: newToken(), session: s, sampler: newSampler(c.Open, c.RateHz, c.Clock)}, nil
}

// shutdownAfter is how long pages may take to let go.
const shutdownAfter = 2 * time.Second

// Run serves the page on l until ctx is done, samples meanwhile, and then saves
// the session. ready is called with the address to open.
func (b *Bench) Run(ctx context.Context, l net.Listener, ready func(url string)) error {
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	b.start(ctx)
	server := &http.Server{
		Handler: b.Handler(), ReadHeaderTimeout: 5 * time.Second, IdleTimeout: time.Minute,
		BaseContext: func(net.Listener) context.Context { return ctx },
		ErrorLog:    slog.NewLogLogger(slog.DiscardHandler, slog.LevelError), // browsers that vanish are no news
	}
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(l) }()
	ready("http://" + address(l) + "/?token=" + b.token)
	var err error
	select {
	case <-ctx.Done():
	case err = <-failed:
	}
	cancel()
	last, done := context.WithTimeout(context.Background(), shutdownAfter)
	defer done()
	if server.Shutdown(last) != nil {
		_ = server.Close() // a browser that does not let go is no fault of this run
	}
	return errors.Join(err, b.stop())
}

// address is where a browser on this machine finds the listener.
func address(l net.Listener) string {
	host, port, err := net.SplitHostPort(l.Addr().String())
	if err != nil {
		return l.Addr().String()
	}
	if ip := net.ParseIP(host); ip != nil && ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	return net.JoinHostPort(host, port)
}

// start begins to sample, and to work out what the session's recording says.
func (b *Bench) start(ctx context.Context) {
	b.ctx = ctx
	b.work.Go(func() { b.sampler.run(ctx) })
	b.work.Go(func() {
		b.adopt()
		if b.session.Recording() == "" && b.config.Begin == "" && b.config.Prepare != nil {
			b.setBusy("making a recording to begin with", nil)
			made, err := b.config.Prepare(ctx)
			if err != nil {
				b.setBusy("", err)
				return
			}
			b.session.SetRecording(made)
		}
		b.look()
	})
}

// stop waits for what is under way and saves the session. The context is done.
func (b *Bench) stop() error {
	b.work.Wait()
	return b.session.Close()
}

// paths are the recordings to look at: the session's, or first the one to begin
// with, and its flights.
func (b *Bench) paths() []string {
	path := b.session.Recording()
	if b.config.Begin != "" && !b.began.Swap(true) {
		path = b.config.Begin
	}
	if path == "" {
		return nil
	}
	return append([]string{path}, b.session.Flights()...)
}

// look measures the session's recording and shows what it says.
func (b *Bench) look() {
	paths := b.paths()
	if len(paths) == 0 {
		return
	}
	b.setBusy("measuring "+filepath.Base(paths[0]), nil)
	type result struct {
		*analysis
		error
	}
	// Measuring takes seconds and knows no end before; one that comes too late
	// is left to itself.
	done := make(chan result, 1)
	go func() {
		rec, err := input.Open(paths[0])
		if err != nil {
			b.unfinished.Store(nil)
			done <- result{nil, err}
			return
		}
		b.unfinished.Store(unfinishedOf(paths[0], rec)) // also where it is too short to be measured
		a, err := analyse(rec, paths, b.config.Options, b.config.Title, b.config.Tool)
		done <- result{a, err}
	}()
	var a *analysis
	select {
	case <-b.ctx.Done():
		return
	case r := <-done:
		if r.error != nil {
			b.setBusy("", r.error)
			return
		}
		a = r.analysis
	}
	a.serial = b.measured.Add(1)
	b.analysis.Store(a)
	b.session.SetRecording(paths[0]) // also for the next start
	b.refreshResponses()
	b.setBusy("", a.leftOut)
}

func (b *Bench) setBusy(what string, err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.busy, b.problem = what, ""
	if err != nil {
		b.problem = err.Error()
	}
	b.revision++
}

// revisions says when a page is behind: State rises with the rig, the recording
// and what is under way, Session with what hands have done to the responses.
type revisions struct {
	State   uint64 `json:"state"`
	Session uint64 `json:"session"`
}

func (b *Bench) revisionsNow() revisions {
	b.mu.Lock()
	defer b.mu.Unlock()
	return revisions{State: b.revision + b.sampler.revision(), Session: b.session.Revision()}
}

// profile is the chosen responses of all axes.
func (b *Bench) profile() (*curves.Profile, error) {
	a := b.analysis.Load()
	if a == nil {
		return nil, errNothing
	}
	p := &curves.Profile{}
	for _, x := range a.axes {
		p.Axes = append(p.Axes, b.chosen(x).Axis)
	}
	return p, p.Check()
}

// errNothing says that there is no recording to work on.
var errNothing = errors.New("nothing has been recorded yet; record first")

// saveProfile writes the chosen responses into the session's folder.
func (b *Bench) saveProfile() (string, error) {
	p, err := b.profile()
	if err != nil {
		return "", err
	}
	var data bytes.Buffer
	if err := p.Write(&data); err != nil {
		return "", err
	}
	path := filepath.Join(b.session.Folder(), "profile.json")
	if err := writeWhole(path, &data); err != nil {
		return "", fmt.Errorf("cannot save the profile: %w; see that the disk has room", err)
	}
	return path, nil
}

// newRecordingPath is a name in the session's folder that nothing has.
func (b *Bench) newRecordingPath(what string, now time.Time) string {
	base := filepath.Join(b.session.Folder(), what+"-"+now.Format("20060102-150405"))
	path := base + ".csv"
	for i := 2; ; i++ {
		if _, err := os.Lstat(path); errors.Is(err, os.ErrNotExist) {
			return path
		}
		path = fmt.Sprintf("%s-%d.csv", base, i)
	}
}
