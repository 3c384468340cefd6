package main

import (
	"context"
	"encoding/json"
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"halfstick/input"
	"halfstick/input/sdl"
)

func TestReportRate(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for _, hz := range []float64{60, 125, 250, 500, 1000} {
		for _, missed := range []float64{0, 0.3} {
			var r reportRate
			if _, known := r.hz(); known {
				t.Error("a rate is told before anything moved")
			}
			at := 5e5
			for range 400 {
				at += 1e6 / hz
				if rng.Float64() < missed {
					continue // a report that changes nothing
				}
				// It is seen at the next look, which comes a little late.
				look := at + 0.5e6/hz*rng.Float64()
				r.add(int64(look))
			}
			r.add(int64(at + 1e9)) // a pause is no interval
			got, known := r.hz()
			if !known || math.Abs(got/hz-1) > 0.03 {
				t.Errorf("%g Hz with %g missed reads %g, %v", hz, missed, got, known)
			}
		}
	}
}

// moving is a device that moves at each look; it is unplugged and comes back.
func moving() noticing {
	return noticing{&stepper{}, map[int]input.Event{
		1500: {Kind: input.Unplugged, Device: "pedals"},
		2300: {Kind: input.Plugged, Device: "pedals", Says: "move each of its axes"},
	}}
}

func TestWatch(t *testing.T) {
	show := func(view watchView) error {
		clock := &input.JumpClock{}
		return runWatch(t.Context(), func() (input.Source, error) { return moving(), nil }, view, 2700*time.Millisecond, clock)
	}
	var lines strings.Builder
	if err := show(watchLines{&lines}); err != nil {
		t.Fatal(err)
	}
	want := []string{
		"0.0 s  pedals  rudder 0  report rate not known until it is moved",
		"0.5 s  pedals  rudder 500  about 1000 reports a second",
		"1.0 s  pedals  rudder 1000  about 1000 reports a second",
		"at 1.5 s pedals was unplugged; its cells stay empty until it comes back",
		"1.5 s  pedals  rudder unplugged  report rate not known until it is moved",
		"at 2.3 s pedals is back and goes on in its columns; move each of its axes",
		"2.5 s  pedals  rudder 2500  about 1000 reports a second",
	}
	got := strings.Split(strings.TrimSpace(lines.String()), "\n")
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("a pipe shows\n%s\nwant\n%s", lines.String(), strings.Join(want, "\n"))
	}

	var objects strings.Builder
	if err := show(watchJSON{json.NewEncoder(&objects)}); err != nil {
		t.Fatal(err)
	}
	var events, empty, rated int
	for line := range strings.Lines(objects.String()) {
		var o struct {
			AtUS     int64   `json:"at_us"`
			Event    string  `json:"event"`
			Device   string  `json:"device"`
			Counts   []*int  `json:"counts"`
			ReportHz float64 `json:"report_hz"`
		}
		if err := json.Unmarshal([]byte(line), &o); err != nil || o.Device != "pedals" {
			t.Fatalf("%v in %s", err, line)
		}
		switch {
		case o.Event != "":
			events++
		case o.Counts[0] == nil:
			empty++
		case o.ReportHz == 1000:
			rated++
		}
	}
	if events != 2 || empty == 0 || rated < 10 {
		t.Errorf("%d events, %d empty, %d with a rate in\n%s", events, empty, rated, objects.String())
	}

	var screen strings.Builder
	if err := show(&watchScreen{out: &screen}); err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{
		"pedals: Example Pedals, about 1000 reports a second\n",
		"  rudder                    1000  ················●················\n",
		"\x1b[3A\r\x1b[K", "unplugged", "Ctrl-C ends\n\x1b[J",
	} {
		if !strings.Contains(screen.String(), part) {
			t.Errorf("the screen never shows %q", part)
		}
	}
}

// A new controller makes the rig another one; without any, a watch waits; and
// the end of its context is no error.
func TestWatchOpensAnewForANewController(t *testing.T) {
	ctx, stop := context.WithCancel(t.Context())
	var rounds []*stepper
	open := func() (input.Source, error) {
		switch len(rounds) {
		case 0:
			rounds = append(rounds, nil)
			return nil, sdl.ErrNoDevices
		case 1:
			s := &stepper{}
			rounds = append(rounds, s)
			return noticing{s, map[int]input.Event{3: {Kind: input.Stranger, Device: "Example Stick"}}}, nil
		}
		s := &stepper{onPoll: func(poll int) error {
			if poll == 5 {
				stop()
			}
			return nil
		}}
		rounds = append(rounds, s)
		return s, nil
	}
	var lines strings.Builder
	if err := runWatch(ctx, open, watchLines{&lines}, 0, &input.JumpClock{}); err != nil {
		t.Fatal(err)
	}
	if len(rounds) != 3 || !rounds[1].closed || !rounds[2].closed {
		t.Errorf("%d rounds, closed: %+v", len(rounds), rounds)
	}
	for _, part := range []string{noneYet + "\n", "at 0.0 s Example Stick was plugged in\n"} {
		if strings.Count(lines.String(), part) != 1 {
			t.Errorf("%q is not said once in\n%s", part, lines.String())
		}
	}
}
