package main

import (
	"fmt"
	"io"
	"math"
	"os"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"golang.org/x/term"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/input/guide"
)

// guideScreen draws the guide on a terminal, and takes keys where standard
// input is one.
type guideScreen struct {
	to      io.Writer
	fd      int // of the terminal that is drawn on
	mute    bool
	session *guide.Session
	keys    guideKeys
	restore func()

	stop    chan struct{}
	stopped sync.WaitGroup

	mu   sync.Mutex
	news []string

	lines, width int // of what stands there
	changes      int
	judged       int
}

const drawEvery = 80 * time.Millisecond

func newGuideScreen(to io.Writer, mute bool) (*guideScreen, error) {
	out := terminalOf(to)
	s := &guideScreen{to: to, fd: int(out.Fd()), mute: mute, restore: func() {}, stop: make(chan struct{})}
	if in := int(os.Stdin.Fd()); term.IsTerminal(in) {
		before, err := term.MakeRaw(in)
		if err != nil {
			return nil, fmt.Errorf("the terminal takes no single keys: %w; redirect standard input from /dev/null to do without", err)
		}
		s.restore = sync.OnceFunc(func() { _ = term.Restore(in, before) })
		s.keys.on = true
	}
	return s, nil
}

func (s *guideScreen) start(session *guide.Session) {
	s.session, s.keys.session = session, session
	if s.keys.on {
		go func() {
			defer s.restore()
			s.keys.read(os.Stdin)
		}()
	}
	s.stopped.Go(func() {
		defer s.restore() // a panic here would end the program as it is
		tick := time.NewTicker(drawEvery)
		defer tick.Stop()
		for {
			select {
			case <-s.stop:
				return
			case <-tick.C:
				s.draw()
			}
		}
	})
}

func (s *guideScreen) changed() {}

func (s *guideScreen) tell(news string) {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.news = append(s.news, news)
}

// told takes the news and the new judgement.
func (s *guideScreen) told(state guide.State) []string {
	s.mu.Lock()
	defer s.mu.Unlock()
	out := s.news
	s.news = nil
	if state.Judged != s.judged && state.Judgement != "" {
		out = append(out, verdictWord(state.Verdict)+": "+state.Judgement)
	}
	s.judged = state.Judged
	return out
}

func (s *guideScreen) finish() {
	close(s.stop)
	s.stopped.Wait()
	s.draw()
	io.WriteString(s.to, s.clear())
	s.restore()
}

// draw puts what is to be seen now in the place of what stood there.
func (s *guideScreen) draw() {
	width, _, err := term.GetSize(s.fd)
	if err != nil || width < 1 {
		width = 80
	}
	state := s.session.State()
	var b strings.Builder
	if width != s.width {
		s.lines, s.width = 0, width // old lines have been broken elsewhere
	}
	b.WriteString(s.clear())
	if state.Changes != s.changes {
		if s.changes = state.Changes; !s.mute {
			b.WriteByte('\a')
		}
	}
	for _, line := range s.told(state) {
		b.WriteString(crlf(text.Wrap(line, width-1, "    ")) + "\r\n")
	}
	lines := screenLines(state, width-1, &s.keys)
	b.WriteString(strings.Join(lines, "\r\n"))
	s.lines = len(lines)
	io.WriteString(s.to, b.String())
}

// clear goes back to the first line that stands there and clears from it on.
func (s *guideScreen) clear() string {
	up := ""
	if s.lines > 1 {
		up = fmt.Sprintf("\x1b[%dA", s.lines-1)
	}
	return "\r" + up + "\x1b[J"
}

func crlf(s string) string { return strings.ReplaceAll(s, "\n", "\r\n") }

// screenLines are the lines of the screen, none longer than width.
func screenLines(s guide.State, width int, keys *guideKeys) []string {
	wrapped := func(t, indent string) []string { return strings.Split(text.Wrap(t, width, indent), "\n") }
	head := heading(s)
	if s.Axis != "" {
		head += ", " + s.Axis
	}
	out := []string{"", cut(head, width)}
	for _, line := range wrapped(s.Do, "") {
		out = append(out, "\x1b[1m"+cut(line, width)+"\x1b[0m")
	}
	for _, line := range wrapped(hintLine(s, keys), "") {
		out = append(out, cut(line, width))
	}
	out = append(out, positionBar(s, width), progressBar(s, width))
	if keys.on {
		for _, line := range wrapped(keys.help(s), "") {
			out = append(out, cut(line, width))
		}
	}
	return out
}

// hintLine is what helps now; it is there even when it is empty, so that the
// lines below it stay where they are.
func hintLine(s guide.State, keys *guideKeys) string {
	hint := keys.note()
	if hint == "" {
		hint = s.Hint
	}
	if left := math.Ceil(s.SecondsLeft); left > 0 {
		if hint != "" {
			hint += "; "
		}
		hint += fmt.Sprintf("goes on in %.0f s", left)
	}
	return hint
}

// positionBar shows where the control is, o, between its stops, and where it
// should be, =.
func positionBar(s guide.State, width int) string {
	n := min(width-2, 60)
	if n < 3 {
		return ""
	}
	bar := []byte(strings.Repeat("-", n))
	place := func(share float64) int { return int(math.Round(share * float64(n-1))) }
	if s.Zone != nil {
		for i := place(s.Zone[0]); i <= place(s.Zone[1]); i++ {
			bar[i] = '='
		}
	}
	if s.Position == nil {
		return strings.Repeat(" ", n+2)
	}
	bar[place(*s.Position)] = 'o'
	return "|" + string(bar) + "|"
}

func progressBar(s guide.State, width int) string {
	n := min(width-8, 54)
	if n < 3 {
		return cut(fmt.Sprintf("%.0f %%", 100*s.Progress), width)
	}
	full := int(math.Round(s.Progress * float64(n)))
	return fmt.Sprintf("[%s%s] %3.0f %%", strings.Repeat("#", full), strings.Repeat(".", n-full), 100*s.Progress)
}

// cut keeps a line within a width, in letters.
func cut(s string, width int) string {
	if utf8.RuneCountInString(s) <= width {
		return s
	}
	return string([]rune(s)[:max(0, width)])
}
