package text

import (
	"testing"

	"halfstick/input"
)

func TestSampling(t *testing.T) {
	percent := 3.25
	s := input.Sampling{
		Rows: 60_000, AskedHz: 1000, ReachedHz: 999.97, LateTicks: 1, LostRows: 12, CPUPercent: &percent,
		IntervalMS: input.Spread{P50: 1, P99: 1.08, P999: 1.4, Max: 2.1},
		ErrorMS:    input.Spread{P50: 0.01, P99: 0.08, P999: 0.4, Max: 1.1},
	}
	want := "sampled at 1000.0 of 1000 Hz; interval 1.00 ms, off by at most 0.08 ms for 99 %, 0.40 ms for 99.9 %, 1.10 ms for all; " +
		"1 tick late; 12 samples lost to a slow disk; 3.2 % of one core"
	if got := Sampling(s); got != want {
		t.Errorf("it reads\n%s, want\n%s", got, want)
	}
	s.LateTicks, s.LostRows, s.CPUPercent = 0, 0, nil
	want = "sampled at 1000.0 of 1000 Hz; interval 1.00 ms, off by at most 0.08 ms for 99 %, 0.40 ms for 99.9 %, 1.10 ms for all; 0 ticks late"
	if got := Sampling(s); got != want {
		t.Errorf("it reads\n%s, want\n%s", got, want)
	}
}

func TestEvents(t *testing.T) {
	for _, c := range []struct {
		event input.Event
		want  string
	}{
		{input.Event{AtUS: 12_340_000, Kind: input.Unplugged, Device: "pedals"}, "at 12.3 s pedals was unplugged; its cells stay empty until it comes back"},
		{input.Event{AtUS: 15e6, Kind: input.Plugged, Device: "pedals", Says: "move each axis"}, "at 15.0 s pedals is back and goes on in its columns; move each axis"},
		{input.Event{Kind: input.Stranger, Device: "Example Stick"}, "at 0.0 s another controller was plugged in, Example Stick, and is not recorded"},
		{input.Event{AtUS: 1e6, Kind: input.Asleep, Seconds: 61.25}, "at 1.0 s the machine slept for 61.2 s"},
		{input.Event{AtUS: 1e6, Kind: input.HeldUp, Seconds: 2}, "at 1.0 s nothing could be sampled for 2.0 s"},
		{input.Event{AtUS: 2e6, Kind: input.Filtered, Device: "pedals"}, "at 2.0 s something had put the system's filter of pedals back, up to a second before, and it was lifted again; it is put back at the end"},
		{input.Event{AtUS: 1e6, Kind: input.LostRows, Rows: 7}, "at 1.0 s the disk was too slow: 7 samples are lost"},
		{input.Event{AtUS: 1e6, Kind: "newer"}, "at 1.0 s newer"},
	} {
		if got := Event(c.event); got != c.want {
			t.Errorf("%+v reads %q, want %q", c.event, got, c.want)
		}
	}
}
