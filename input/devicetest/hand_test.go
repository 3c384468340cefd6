//go:build device && linux

package devicetest

import (
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"
)

// control is one axis that a hand moves, in codes.
type control struct {
	axis      string
	low, high int
	rest      [2]int // where it comes to rest from the low side, and from the high
}

// hand does what the program asks for, in its own words, on controls by label.
// It moves as a person does: it looks what is asked, does a piece of it, and
// looks again.
type hand struct {
	feeder   *feeder
	controls map[string]*control
	noise    int // ± codes, on every axis

	at     map[string]int
	orders int // that were read
}

// askedFor finds what the program has asked for: with --guide in a pipe one line
// a step, otherwise on a terminal one line a phase.
var askedFor = regexp.MustCompile(`(?m)^(?:naming|step) \d+ of \d+[^:]*: (.+)$|\x1b\[K(move [^\r]*|push [^\r]*|hands and [^\r]*|fly [^\r]*)\r?\n`)

// obey does what p asks for until p has ended. told is what p has said so far.
func (h *hand) obey(t *testing.T, p *Process, told func() string) {
	t.Helper()
	h.at = map[string]int{}
	h.orders = 0
	for deadline := time.Now().Add(15 * time.Minute); ; {
		select {
		case <-p.ended:
			return
		case <-time.After(20 * time.Millisecond):
		}
		if time.Now().After(deadline) {
			t.Fatalf("it never ends, but goes on to say\n%s", tail(told(), 12))
		}
		asked := askedFor.FindAllStringSubmatch(told(), -1)
		if len(asked) == 0 {
			continue
		}
		order := strings.ToLower(asked[len(asked)-1][1] + asked[len(asked)-1][2])
		fresh := len(asked) != h.orders
		h.orders = len(asked)
		h.feeder.do(h.piece(order, fresh)...)
	}
}

// piece is what the hand does next of an order. fresh says that it has done
// none of it.
func (h *hand) piece(order string, fresh bool) []string {
	idle := []string{fmt.Sprintf("still 200ms %d", h.noise)}
	has := func(part string) bool { return strings.Contains(order, part) }
	if has("hands and feet off") {
		return append(h.letGo(), fmt.Sprintf("still 1s %d", h.noise))
	}
	for label, c := range h.controls {
		if !has(label) {
			continue
		}
		switch {
		case has("the control for") && fresh:
			return append([]string{h.move(c, c.high, 800), h.move(c, c.low, 800), h.move(c, c.rest[0], 400)},
				fmt.Sprintf("still 1500ms %d", h.noise))
		case has("slowly from stop to stop"):
			to := c.low
			if at, known := h.at[c.axis]; known && at == c.low {
				to = c.high
			}
			return append([]string{h.move(c, to, 2200)}, idle...)
		case has("its low side") && fresh:
			return h.release(c, 0)
		case has("its high side") && fresh:
			return h.release(c, 1)
		case has("push") && has("to a stop"):
			return append(h.release(c, 0), h.release(c, 1)...)
		case has("push") && has("to the other stop"):
			// Whichever is left: a side too many does no harm.
			return append(h.release(c, 0), h.release(c, 1)...)
		case has("hold"):
			if half := (c.rest[1] + c.high) / 2; h.at[c.axis] != half {
				return append([]string{h.move(c, half, 500)}, idle...)
			}
			return idle
		}
	}
	if has("fly") {
		var lines []string
		for _, c := range h.controls {
			middle := (c.rest[0] + c.rest[1]) / 2
			for _, share := range []int{4, -3, 2, -4, 3, -2} {
				reach := c.high - middle
				if share < 0 {
					reach = middle - c.low
				}
				lines = append(lines, h.move(c, middle+share*reach/8, 500))
			}
		}
		return lines
	}
	return idle
}

func (h *hand) move(c *control, code, milliseconds int) string {
	h.at[c.axis] = code
	return fmt.Sprintf("move %s %d %dms", c.axis, code, milliseconds)
}

// release pushes a control to a stop and lets it spring back.
func (h *hand) release(c *control, side int) []string {
	stop := c.low
	if side == 1 {
		stop = c.high
	}
	return []string{h.move(c, stop, 400), fmt.Sprintf("still 400ms %d", h.noise),
		h.move(c, c.rest[side], 200), fmt.Sprintf("still 3500ms %d", h.noise)}
}

// letGo lets what is held go back to where it rests.
func (h *hand) letGo() []string {
	var lines []string
	for _, c := range h.controls {
		if at, known := h.at[c.axis]; known && at != c.rest[0] && at != c.rest[1] {
			lines = append(lines, h.move(c, c.rest[0], 400))
		}
	}
	return lines
}
