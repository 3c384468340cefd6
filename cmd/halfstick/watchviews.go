package main

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"halfstick/input"
)

// watchScreen draws on a terminal, in the same place again and again.
type watchScreen struct {
	out   io.Writer
	drawn int // lines of the last drawing, which the next one replaces
}

func (*watchScreen) every() int64 { return 50_000 }

// track is how many places a control's way has on the screen.
const track = 33

func (v *watchScreen) show(_ int64, devices []watched) error {
	var lines []string
	for _, d := range devices {
		lines = append(lines, fmt.Sprintf("%s: %s, %s", d.device.ID, d.device.Name, d.reports.text()))
		for a, axis := range d.device.Axes {
			way := ""
			if !d.away && d.present[a] {
				at := (int(d.counts[a]) + 32768) * (track - 1) / 65535
				way = strings.Repeat("·", at) + "●" + strings.Repeat("·", track-1-at)
			}
			lines = append(lines, fmt.Sprintf("  %-16.16s %13s  %s", axis.Label, d.reading(a), way))
		}
	}
	return v.draw(append(lines, "Ctrl-C ends"))
}

func (v *watchScreen) draw(lines []string) error {
	var b strings.Builder
	if v.drawn > 0 {
		fmt.Fprintf(&b, "\x1b[%dA", v.drawn)
	}
	for _, line := range lines {
		b.WriteString("\r\x1b[K" + line + "\n")
	}
	b.WriteString("\x1b[J") // what is left of a longer drawing
	v.drawn = len(lines)
	_, err := io.WriteString(v.out, b.String())
	return err
}

// event leaves a line above what is drawn next.
func (v *watchScreen) event(e input.Event) error {
	err := v.draw([]string{watchEvent(e)})
	v.drawn = 0
	return err
}

func (v *watchScreen) waiting() error {
	err := v.draw([]string{noneYet})
	v.drawn = 1
	return err
}

// watchJSON writes one object a line: a device that moved, or an event.
type watchJSON struct{ out *json.Encoder }

func (watchJSON) every() int64 { return 100_000 }

func (v watchJSON) show(atUS int64, devices []watched) error {
	for _, d := range devices {
		if !d.changed {
			continue
		}
		line := struct {
			AtUS     int64    `json:"at_us"`
			Device   string   `json:"device"`
			Labels   []string `json:"labels"`
			Counts   []*int16 `json:"counts"` // null: unplugged, or not moved yet
			ReportHz *float64 `json:"report_hz"`
		}{AtUS: atUS, Device: d.device.ID}
		for a, axis := range d.device.Axes {
			line.Labels = append(line.Labels, axis.Label)
			var counts *int16
			if d.present[a] && !d.away {
				counts = &d.counts[a]
			}
			line.Counts = append(line.Counts, counts)
		}
		if hz, known := d.reports.hz(); known {
			line.ReportHz = &hz
		}
		if err := v.out.Encode(line); err != nil {
			return err
		}
	}
	return nil
}

func (v watchJSON) event(e input.Event) error { return v.out.Encode(e) }

func (v watchJSON) waiting() error { return nil }
