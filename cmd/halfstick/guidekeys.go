package main

import (
	"bufio"
	"fmt"
	"io"
	"strings"
	"sync"
	"time"
	"unicode"

	"halfstick/input/guide"
)

// guideKeys turns keys into what is asked of the guide.
type guideKeys struct {
	session *guide.Session
	on      bool

	mu     sync.Mutex
	typing bool
	typed  []rune
	said   string // why a key did nothing
	until  time.Time
}

const noteLasts = 4 * time.Second

// Keys that stand for themselves in raw mode.
const (
	ctrlC, ctrlD, escape  = 3, 4, 27
	backspace, deleteChar = 8, 127
)

var keyActions = map[rune]guide.ActionKind{
	'r': guide.Repeat, 's': guide.Skip, 'b': guide.Back, 't': guide.Turn, 'q': guide.Stop, ctrlC: guide.Stop, ctrlD: guide.Stop,
}

// read takes keys until there are no more.
func (k *guideKeys) read(from io.Reader) {
	in := bufio.NewReader(from)
	for {
		r, _, err := in.ReadRune()
		if err != nil {
			return
		}
		if r == escape && in.Buffered() > 0 {
			// An arrow or the like, which sends a few characters at once.
			in.Discard(in.Buffered())
			continue
		}
		k.press(r)
	}
}

// press does what a key asks for.
func (k *guideKeys) press(r rune) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.said = ""
	switch action, known := keyActions[unicode.ToLower(r)]; {
	case k.typing && r != ctrlC:
		k.spell(r)
	case known:
		k.do(guide.Action{Kind: action})
	case r == 'n' || r == 'N':
		if k.session.State().Kind != guide.Name {
			k.say("the names stand in the recording already")
			return
		}
		k.typing, k.typed = true, nil
	case r >= '1' && r <= '9':
		labels := k.session.State().Labels
		if i := int(r - '1'); i < len(labels) {
			k.do(guide.Action{Kind: guide.Label, Label: labels[i]})
		}
	}
}

// spell takes the letters of a name.
func (k *guideKeys) spell(r rune) {
	switch {
	case r == '\r' || r == '\n':
		k.typing = false
		k.do(guide.Action{Kind: guide.Label, Label: strings.TrimSpace(string(k.typed))})
	case r == escape:
		k.typing = false
	case r == backspace || r == deleteChar:
		k.typed = k.typed[:max(0, len(k.typed)-1)]
	case unicode.IsPrint(r):
		k.typed = append(k.typed, r)
	}
}

func (k *guideKeys) do(a guide.Action) {
	if err := k.session.Do(a); err != nil {
		k.say(err.Error())
	}
}

func (k *guideKeys) say(words string) { k.said, k.until = words, time.Now().Add(noteLasts) }

// note is what a key made the person need to know.
func (k *guideKeys) note() string {
	k.mu.Lock()
	defer k.mu.Unlock()
	switch {
	case k.typing:
		return "name, then Enter: " + string(k.typed) + "_"
	case k.said != "" && time.Now().Before(k.until):
		return k.said
	}
	return ""
}

// help lists the keys that do something now.
func (k *guideKeys) help(s guide.State) string {
	keys := "r repeat, s skip, b back, q quit"
	if s.Kind != guide.Name {
		return keys
	}
	keys += ", n type a name, t one-sided or two-sided"
	for i, label := range s.Labels {
		keys += fmt.Sprintf(", %d:%s", i+1, label)
	}
	return keys
}
