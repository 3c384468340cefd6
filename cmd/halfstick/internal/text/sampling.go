package text

import (
	"fmt"
	"strings"
	"time"

	"halfstick/input"
)

// Sampling says in one line how evenly a recording was made.
func Sampling(s input.Sampling) string {
	var b strings.Builder
	fmt.Fprintf(&b, "sampled at %s of %g Hz; interval %.2f ms, off by at most %.2f ms for 99 %%, %.2f ms for 99.9 %%, %.2f ms for all; %s late",
		Number(s.ReachedHz, 1), s.AskedHz, s.IntervalMS.P50, s.ErrorMS.P99, s.ErrorMS.P999, s.ErrorMS.Max, ticks(s.LateTicks))
	if s.LostRows > 0 {
		fmt.Fprintf(&b, "; %d samples lost to a slow disk", s.LostRows)
	}
	if s.CPUPercent != nil {
		fmt.Fprintf(&b, "; %.1f %% of one core", *s.CPUPercent)
	}
	return b.String()
}

func ticks(n int) string {
	if n == 1 {
		return "1 tick"
	}
	return fmt.Sprintf("%d ticks", n)
}

// Event says in one line what happened to a recording.
func Event(e input.Event) string {
	at := (time.Duration(e.AtUS) * time.Microsecond).Seconds()
	var says string
	switch e.Kind {
	case input.Unplugged:
		says = e.Device + " was unplugged; its cells stay empty until it comes back"
	case input.Plugged:
		says = e.Device + " is back and goes on in its columns"
	case input.Stranger:
		says = "another controller was plugged in, " + e.Device + ", and is not recorded"
	case input.Asleep:
		says = fmt.Sprintf("the machine slept for %.1f s", e.Seconds)
	case input.HeldUp:
		says = fmt.Sprintf("nothing could be sampled for %.1f s", e.Seconds)
	case input.Filtered:
		says = "something had put the system's filter of " + e.Device + " back, up to a second before, and it was lifted again; it is put back at the end"
	case input.LostRows:
		says = fmt.Sprintf("the disk was too slow: %d samples are lost", e.Rows)
	default:
		says = string(e.Kind)
	}
	if e.Says != "" {
		says += "; " + e.Says
	}
	return fmt.Sprintf("at %.1f s %s", at, says)
}
