package devicetest

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"halfstick/input/devicetest/hid"
)

// By hand from input_defuzz_abs_event with fuzz 255: below 127 the old value
// stays, below 255 three quarters of it, below 510 half of it.
func TestKernelAxis(t *testing.T) {
	for _, c := range []struct {
		fuzz int
		raw  []int
		want []int
	}{
		{0, []int{5, 5, 6, 0}, []int{5, 5, 6, 0}},
		// 1000 is far from 0; 1126 is 126 off; 1127 is 127 off: (3000+1127)/4.
		{255, []int{1000, 1126, 1127}, []int{1000, 1000, 1031}},
		// 1254 is 254 off: (3000+1254)/4; then 1254 again is dropped unseen.
		{255, []int{1000, 1254, 1254}, []int{1000, 1063, 1063}},
		// 1255 and 1509 are within 510: halfway; 1510 is not.
		{255, []int{1000, 1255}, []int{1000, 1127}},
		{255, []int{1000, 1509}, []int{1000, 1254}},
		{255, []int{1000, 1510}, []int{1000, 1510}},
		{255, []int{1000, 746}, []int{1000, 936}}, // down: (3000+746)/4 = 936.5
		// fuzz 3: less than 1 stays, less than 3 a quarter, less than 6 half.
		{3, []int{100, 101, 102, 105}, []int{100, 100, 100, 102}},
	} {
		axis := kernelAxis{fuzz: c.fuzz}
		var got []int
		for _, raw := range c.raw {
			got = append(got, axis.next(raw))
		}
		if fmt.Sprint(got) != fmt.Sprint(c.want) {
			t.Errorf("fuzz %d: %v becomes %v, want %v", c.fuzz, c.raw, got, c.want)
		}
	}
}

func TestSDLCounts(t *testing.T) {
	for code := range 65536 {
		if got := sdlCounts(code, 65535); int(got) != code-32768 {
			t.Fatalf("16 bits: %d becomes %d", code, got)
		}
	}
	// 65535/1023 is 64.06: the ends are exact and each step is 64 or 65.
	if low, high := sdlCounts(0, 1023), sdlCounts(1023, 1023); low != -32768 || high != 32767 {
		t.Errorf("10 bits go from %d to %d", low, high)
	}
	steps := map[int16]int{}
	for code := range 1023 {
		steps[sdlCounts(code+1, 1023)-sdlCounts(code, 1023)]++
	}
	if steps[64]+steps[65] != 1023 || steps[65] == 0 {
		t.Errorf("10 bits have steps %v", steps)
	}
}

// stream is a hundred counting reports, one a millisecond from 7 s on, each
// with the kernel a tenth of a millisecond later, and rows that are read
// 0.4 ms after every second one.
func stream() (sent []Sent, expected, rows [][]int16, timesUS []int64) {
	d := hid.Pedals()
	for n := range 100 {
		at := int64(7e9) + int64(n)*1e6
		sent = append(sent, Sent{BeforeNS: at, AfterNS: at + 1e5, Codes: hid.Count(d, n)})
	}
	expected = Expected(d, sent, []int{0, 0, 0})
	for n := 10; n < 90; n += 2 {
		rows = append(rows, expected[n])
		timesUS = append(timesUS, int64(n-10)*1000)
	}
	return sent, expected, rows, timesUS
}

func TestFollow(t *testing.T) {
	sent, expected, rows, timesUS := stream()
	m, err := Follow(rows, timesUS, sent, expected)
	if err != nil {
		t.Fatal(err)
	}
	if m.Seen != 40 || m.Reports[0] != 10 || m.Reports[39] != 88 {
		t.Errorf("%d reports seen, from %d to %d", m.Seen, m.Reports[0], m.Reports[39])
	}
	// Row 0 shows report 10, sent at 7.010 s; it was read before row 1, 2 ms
	// on, and does not show report 11, with the kernel at 7.0111 s.
	if m.EarliestNS != 7_008_000_000-1000 || m.LatestNS != 7_011_100_000 {
		t.Errorf("the start lies from %d to %d", m.EarliestNS, m.LatestNS)
	}
}

func TestFollowFindsFaults(t *testing.T) {
	for name, c := range map[string]struct {
		spoil func(rows [][]int16, timesUS []int64, expected [][]int16)
		says  string
	}{
		"altered": {func(rows [][]int16, _ []int64, _ [][]int16) {
			rows[5] = []int16{rows[5][0], rows[5][1] + 1, rows[5][2]}
		}, "row 5"},
		"torn":      {func(rows [][]int16, _ []int64, _ [][]int16) { rows[5] = []int16{rows[5][0], rows[5][1], rows[6][2]} }, "row 5"},
		"backwards": {func(rows [][]int16, _ []int64, _ [][]int16) { rows[5], rows[6] = rows[6], rows[5] }, "row 6"},
		"stale":     {func(rows [][]int16, _ []int64, expected [][]int16) { rows[20] = rows[15] }, "row 20"},
		// Rows 20 to 25 all show what row 20 should: the last is ten reports late.
		"stuck": {func(rows [][]int16, _ []int64, _ [][]int16) {
			for i := range 5 {
				rows[21+i] = rows[20]
			}
		}, "too late"},
		"ahead": {func(rows [][]int16, _ []int64, expected [][]int16) { rows[20] = expected[55] }, "row 21"},
		"late": {func(rows [][]int16, timesUS []int64, _ [][]int16) {
			for i := range timesUS[20:] {
				timesUS[20+i] += 4000
			}
		}, "too late"},
	} {
		sent, expected, rows, timesUS := stream()
		c.spoil(rows, timesUS, expected)
		if _, err := Follow(rows, timesUS, sent, expected); err == nil || !strings.Contains(err.Error(), c.says) {
			t.Errorf("%s: %v, want an error that says %q", name, err, c.says)
		}
	}
}

func TestReadSent(t *testing.T) {
	file := filepath.Join(t.TempDir(), "sent.csv")
	write := func(text string) {
		if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("100,103,7,8\n200,205,9,10\n")
	sent, err := ReadSent(file)
	if got, want := fmt.Sprint(sent, err), "[{100 103 [7 8]} {200 205 [9 10]}] <nil>"; got != want {
		t.Errorf("read %s, want %s", got, want)
	}
	for _, bad := range []string{"100,103,seven\n", "100,103\n", "1,2,3\n1,2\n"} {
		write(bad)
		if _, err := ReadSent(file); err == nil {
			t.Errorf("%q is read without an error", bad)
		}
	}
}
