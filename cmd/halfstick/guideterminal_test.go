//go:build cgo && unix

package main

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/creack/pty"
	"golang.org/x/term"
)

// terminal is the program on a pseudo-terminal.
type terminal struct {
	*exec.Cmd
	keys *os.File // our end
	line *os.File // the program's end

	mu  sync.Mutex
	all bytes.Buffer
}

const terminalWidth = 44

// startOnTerminal runs the program as its user would.
func startOnTerminal(t *testing.T, args ...string) *terminal {
	t.Helper()
	ours, line, err := pty.Open()
	if err != nil {
		t.Skipf("no pseudo-terminal here: %v", err)
	}
	t.Cleanup(func() { ours.Close(); line.Close() })
	if err := pty.Setsize(line, &pty.Winsize{Rows: 20, Cols: terminalWidth}); err != nil {
		t.Fatal(err)
	}
	program := filepath.Join(t.TempDir(), "halfstick")
	if err := os.Symlink(os.Args[0], program); err != nil {
		t.Fatal(err)
	}
	x := &terminal{Cmd: exec.Command(program, args...), keys: ours, line: line}
	x.Stdin, x.Stdout, x.Stderr = line, line, line
	x.SysProcAttr = &syscall.SysProcAttr{Setsid: true, Setctty: true}
	if err := x.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = x.Process.Kill() })
	go func() {
		buffer := make([]byte, 4096)
		for {
			n, err := ours.Read(buffer)
			x.mu.Lock()
			x.all.Write(buffer[:n])
			x.mu.Unlock()
			if err != nil {
				return
			}
		}
	}()
	return x
}

func (x *terminal) seen() string {
	x.mu.Lock()
	defer x.mu.Unlock()
	return x.all.String()
}

// await waits until the terminal has shown something, behind a place.
func (x *terminal) await(t *testing.T, from int, pattern string) (to int) {
	t.Helper()
	re := regexp.MustCompile(pattern)
	for limit := time.Now().Add(time.Minute); time.Now().Before(limit); time.Sleep(20 * time.Millisecond) {
		if at := re.FindStringIndex(x.seen()[from:]); at != nil {
			return from + at[1]
		}
	}
	t.Fatalf("the terminal never showed %s; it showed %q", pattern, x.seen()[from:])
	return 0
}

func (x *terminal) press(t *testing.T, keys string) {
	t.Helper()
	if _, err := x.keys.WriteString(keys); err != nil {
		t.Fatal(err)
	}
}

// ended waits for the program and demands the terminal as it was.
func (x *terminal) ended(t *testing.T, before *term.State) {
	t.Helper()
	if err := x.Wait(); err != nil {
		t.Errorf("ended with %v: %q", err, x.seen())
	}
	after, err := term.GetState(int(x.line.Fd()))
	if err != nil || *after != *before {
		t.Errorf("the terminal was left otherwise than it was: %v", err)
	}
}

var escapes = regexp.MustCompile(`\x1b\[[0-9;]*[A-Za-z]|\a`)

// A scripted hand on SDL's virtual joysticks is led on a narrow terminal; keys
// skip, go back and quit.
func TestGuideOnATerminal(t *testing.T) {
	file := filepath.Join(t.TempDir(), "r.csv")
	x := startOnTerminal(t, "record", "--guide", "--simulated", "--axis", "pitch", "-o", file)
	before, err := term.GetState(int(x.line.Fd()))
	if err != nil {
		t.Fatal(err)
	}
	at := x.await(t, 0, `step 1 of 4, pitch`)
	at = x.await(t, at, `\|-+o-*\|`)
	raw, err := term.GetState(int(x.line.Fd()))
	if err != nil || *raw == *before {
		t.Errorf("the terminal takes no single keys: %v", err)
	}
	at = x.await(t, at, `\|o-+\|`) // the hand is at a stop
	x.press(t, "b")
	at = x.await(t, at, `there is no step before`)
	x.press(t, "s")
	at = x.await(t, at, `left out as you asked`)
	at = x.await(t, at, `step 2 of 4`)
	x.press(t, "b")
	at = x.await(t, at, `step 1 of 4, pitch`)
	x.press(t, "q")
	x.await(t, at, `missing: pitch`)
	x.ended(t, before)
	if n := strings.Count(x.seen(), "\a"); n < 3 || n > 8 {
		t.Errorf("%d bells for three steps and an end", n)
	}
	for _, line := range strings.Split(escapes.ReplaceAllString(x.seen(), ""), "\r\n") {
		line = line[strings.LastIndex(line, "\r")+1:]
		if n := utf8.RuneCountInString(line); n >= terminalWidth && !strings.Contains(line, file) && strings.HasPrefix(line, "|") {
			t.Errorf("a line of %d letters on a terminal of %d: %q", n, terminalWidth, line)
		}
	}
}

// A signal ends it as a key does.
func TestGuideTerminalAfterASignal(t *testing.T) {
	for _, s := range []syscall.Signal{syscall.SIGTERM, syscall.SIGHUP} {
		file := filepath.Join(t.TempDir(), "r.csv")
		x := startOnTerminal(t, "record", "--guide", "--mute", "--simulated", "--axis", "pitch", "-o", file)
		before, err := term.GetState(int(x.line.Fd()))
		if err != nil {
			t.Fatal(err)
		}
		x.await(t, 0, `step 1 of 4, pitch`)
		if err := x.Process.Signal(s); err != nil {
			t.Fatal(err)
		}
		x.ended(t, before)
		if strings.Contains(x.seen(), "\a") {
			t.Error("a muted guide rings")
		}
		if _, err := os.Stat(file); err != nil {
			t.Error(err)
		}
	}
}
