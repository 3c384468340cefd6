package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"
)

// withHold is the demo's recording with pitch held two thirds forward for the
// given seconds from the fifth second of its flight; at is when that begins.
func withHold(t *testing.T, seconds int) (path string, at int) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(demoFolder(t), demoRecording))
	if err != nil {
		t.Fatal(err)
	}
	lines := strings.Split(string(data), "\n")
	fromUS := -1
	for i, line := range lines {
		cells := strings.Split(line, ",")
		us, err := strconv.Atoi(cells[0])
		if err != nil || len(cells) < 3 || cells[1] != "flight" || cells[2] == "" {
			continue
		}
		if fromUS < 0 {
			fromUS = us + 5_000_000
		}
		if us >= fromUS && us < fromUS+seconds*1_000_000 {
			cells[2] = strconv.Itoa(-21800 + i%7)
			lines[i] = strings.Join(cells, ",")
		}
	}
	if fromUS < 0 {
		t.Fatal("the demo has no flight")
	}
	path = filepath.Join(t.TempDir(), "held.csv")
	if err := os.WriteFile(path, []byte(strings.Join(lines, "\n")), 0o644); err != nil {
		t.Fatal(err)
	}
	return path, fromUS / 1_000_000
}

func proposed(t *testing.T, args ...string) string {
	t.Helper()
	var out, errs bytes.Buffer
	args = append([]string{"propose", "-o", filepath.Join(t.TempDir(), "p.json")}, args...)
	if status := run(args, &out, &errs); status != exitDone {
		t.Fatalf("status %d: %s", status, errs.String())
	}
	return out.String()
}

var heldLine = regexp.MustCompile(`(?s)held at −?-?\d+\.?\d* % from (\d+) s to (\d+)\s+s.*?: (left out of|kept in)\s+the\s+demand`)

// A long hold is listed with its times, and the person decides about it.
func TestHoldsAreListedAndKeptOnRequest(t *testing.T) {
	path, at := withHold(t, 12)
	out := proposed(t, path)
	found := heldLine.FindStringSubmatch(out)
	if found == nil {
		t.Fatalf("no hold is listed:\n%s", out)
	}
	from, _ := strconv.Atoi(found[1])
	to, _ := strconv.Atoi(found[2])
	if from < at-1 || from > at+1 || to < at+11 || to > at+13 || found[3] != "left out of" {
		t.Errorf("a hold from %d s to %d s, %s the demand; it was from %d s to %d s", from, to, found[3], at, at+12)
	}
	if !strings.Contains(out, "--keep-holds counts the holds") {
		t.Error("nothing says how to keep it")
	}
	kept := proposed(t, path, "--keep-holds")
	if found := heldLine.FindStringSubmatch(kept); found == nil || found[3] != "kept in" || strings.Contains(kept, "--keep-holds") {
		t.Errorf("with --keep-holds: %q", found)
	}
}

// Apart, each side's shape is what is proposed, and not that of both together.
func TestSidesApartAreListed(t *testing.T) {
	out := proposed(t, filepath.Join(demoFolder(t), demoRecording), "--sides", "apart", "--shape", "blend")
	for _, want := range []string{"proposed, low: blend", "proposed, high: blend", "low side by itself: cubic blend of"} {
		if n := strings.Count(out, want); n != 4 {
			t.Errorf("%q is written %d times, not once for each two-sided axis", want, n)
		}
	}
	if strings.Count(out, "proposed: blend") != 3 {
		t.Error("only one-sided axes have one shape that is proposed")
	}
}
