package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"halfstick/input"
)

// What is timed does the work: the bare parse adds up every whole number of the
// file, across its blocks, and the recording is one that the stages measure.
func TestLongRecordingIsReadByAll(t *testing.T) {
	path := filepath.Join(t.TempDir(), "long.csv")
	if err := writeRecording(path, 0.025, true); err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if len(text) < 2*parseBlock {
		t.Fatalf("%d bytes are no two blocks of %d", len(text), parseBlock)
	}
	rec, err := input.Read(bytes.NewReader(text), path)
	if err != nil {
		t.Fatal(err)
	}
	if got := len(rec.Columns); got != 8 {
		t.Errorf("%d axes, want 8", got)
	}
	got, err := parseIntegers(path)
	if err != nil {
		t.Fatal(err)
	}
	if want := sumIntegers(text); got != want {
		t.Errorf("in blocks the integers add up to %d, in one to %d", got, want)
	}
	var out bytes.Buffer
	if err := runStages(&out, path, ""); err != nil {
		t.Fatal(err)
	}
	var s stages
	if err := json.Unmarshal(out.Bytes(), &s); err != nil || s.Axes != 8 {
		t.Errorf("stages of %d axes (%v), want 8: %s", s.Axes, err, out.Bytes())
	}
}
