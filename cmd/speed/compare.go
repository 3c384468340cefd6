package main

import (
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strconv"
	"text/tabwriter"
	"time"
)

// line is one program of the comparison.
type line struct {
	name string
	cost
}

// compare writes the recording, runs all programs on it and prints what they
// took.
func (f flags) compare() error {
	folder, err := os.MkdirTemp("", "halfstick-speed-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(folder)
	path := filepath.Join(folder, "long.csv")
	if err := writeRecording(path, f.hours, !f.unlabelled); err != nil {
		return err
	}
	lines, parts, err := f.runAll(path, folder)
	if err != nil {
		return err
	}
	return f.report(os.Stdout, path, lines, parts)
}

// runAll runs the programs; a file that was just written is in memory, so none
// waits for a disk.
func (f flags) runAll(path, folder string) (lines []line, parts stages, err error) {
	self, err := os.Executable()
	if err != nil {
		return nil, parts, err
	}
	run := func(what string, command ...string) cost {
		if err != nil {
			return cost{}
		}
		var c cost
		if c, err = timed(command[0], command[1:]...); err == nil {
			lines = append(lines, line{what, c})
		}
		return c
	}
	run("cat", "cat", path)
	run(bareParse, self, "-parse", path)
	job := run("read, measure, propose in one process", self, "-stages", path)
	if err == nil {
		err = json.Unmarshal([]byte(job.out), &parts)
	}
	run(wholeMeasure, f.halfstick, "measure", path)
	run("halfstick measure --sheet", f.halfstick, "measure", path, "--sheet", filepath.Join(folder, "sheet.html"))
	run("halfstick propose", f.halfstick, "propose", path, "-o", filepath.Join(folder, "profile.json"))
	if err != nil || f.peer == "" {
		return lines, parts, err
	}
	python, missing := pythonWithPandas()
	if missing != nil {
		fmt.Fprintf(os.Stderr, "the script is left out: %v\n", missing)
		return lines, parts, nil
	}
	run(script, python, f.peer, path)
	return lines, parts, err
}

// The lines that ratios are taken of.
const (
	bareParse    = "bare parse of the integers, all cores"
	wholeMeasure = "halfstick measure"
	script       = "script with numpy, scipy, pandas"
)

// pythonWithPandas is a Python that has what the script needs: the one on the
// path, or else the system's.
func pythonWithPandas() (string, error) {
	var err error
	for _, python := range []string{"python3", "/usr/bin/python3"} {
		if err = exec.Command(python, "-c", "import numpy, scipy, pandas").Run(); err == nil {
			return python, nil
		}
	}
	return "", fmt.Errorf("no python3 with numpy, scipy and pandas (%w); Debian has them as python3-numpy, python3-scipy and python3-pandas", err)
}

func (f flags) report(w io.Writer, path string, lines []line, parts stages) error {
	info, err := os.Stat(path)
	if err != nil {
		return err
	}
	fmt.Fprintf(w, "%g h of %d axes at %d Hz, %d MB, %d cores\n\n", f.hours, parts.Axes, rowsHz, info.Size()/1e6, runtime.GOMAXPROCS(0))
	tw := tabwriter.NewWriter(w, 0, 0, 2, ' ', tabwriter.AlignRight|tabwriter.Debug)
	fmt.Fprintln(tw, "program\ts\tprocessor s\tpeak MB\t")
	took := map[string]time.Duration{}
	for _, l := range lines {
		took[l.name] = l.wall
		fmt.Fprintf(tw, "%s\t%.2f\t%.2f\t%s\t\n", l.name, l.wall.Seconds(), l.cpu.Seconds(), megabytes(l.peak))
	}
	if err := tw.Flush(); err != nil {
		return err
	}
	fmt.Fprintf(w, "\nof the one process: read %.2f s, measure %.2f s, propose %.0f ms an axis\n",
		parts.Read, parts.Measure, 1000*parts.Propose/float64(max(1, parts.Axes)))
	fmt.Fprintf(w, "measure takes %.1f times the bare parse (goal: at most 2.5)\n", took[wholeMeasure].Seconds()/took[bareParse].Seconds())
	if took[script] > 0 {
		fmt.Fprintf(w, "the script takes %.1f times as long as measure (goal: at least 10)\n", took[script].Seconds()/took[wholeMeasure].Seconds())
	}
	return nil
}

func megabytes(bytes int64) string {
	if bytes == 0 {
		return ""
	}
	return strconv.FormatInt(bytes/1e6, 10)
}
