package main

import (
	"fmt"
	"io"

	"halfstick/input/guide"
)

// newGuideUI shows the guide on a terminal, or writes lines into a pipe.
func newGuideUI(errs io.Writer, mute bool) (guideUI, error) {
	if !isTerminal(errs) {
		return &guideLines{to: errs}, nil
	}
	return newGuideScreen(errs, mute)
}

// guideLines writes a line for whatever is new. It has no keys.
type guideLines struct {
	to      io.Writer
	session *guide.Session
	judged  int
	attempt int
}

func (l *guideLines) start(s *guide.Session) { l.session = s }

func (l *guideLines) changed() {
	s := l.session.State()
	if s.Judged != l.judged && s.Judgement != "" {
		fmt.Fprintf(l.to, "  %s: %s\n", verdictWord(s.Verdict), s.Judgement)
	}
	l.judged = s.Judged
	if s.Attempt != l.attempt {
		l.attempt = s.Attempt
		fmt.Fprintln(l.to, heading(s)+": "+s.Do)
	}
}

func (l *guideLines) tell(news string) { fmt.Fprintln(l.to, "  "+news) }

func (l *guideLines) finish() {}

// heading names the step.
func heading(s guide.State) string {
	what := "naming"
	if s.Recording {
		what = "step"
	}
	return fmt.Sprintf("%s %d of %d", what, s.Step, s.Steps)
}

func verdictWord(v guide.Verdict) string {
	switch v {
	case guide.Good:
		return "good"
	case guide.Again:
		return "again"
	case guide.LeftOut:
		return "left out"
	}
	return "note"
}
