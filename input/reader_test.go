package input_test

import (
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"testing/iotest"

	"halfstick/input"
)

// example is what head and rows say.
func example() *input.Recording {
	rec := &input.Recording{
		Header: exampleHeader(),
		Stretches: []input.Stretch{
			{Phase: input.Phase{Kind: input.Rest}, From: 0, To: 2},
			{From: 2, To: 3},
			{Phase: input.Phase{Kind: input.Sweep, Label: "rudder"}, From: 3, To: 4},
		},
		Columns: []input.Column{{Device: 0, Axis: 0}, {Device: 0, Axis: 1}},
	}
	for i, us := range []int64{0, 2000, 4001, 6000} {
		rec.Times.Append(us)
		rec.Columns[0].Append([]int16{112, 48, 50, -32768}[i], true)
		rec.Columns[1].Append([]int16{-32768, -32768, 0, 32767}[i], i != 2)
	}
	return rec
}

func TestReadGivesWhatTheFileSays(t *testing.T) {
	quoted := `"0","rest","112","-32768"` + "\n" + strings.SplitAfterN(rows, "\n", 2)[1]
	for name, text := range map[string]string{
		"plain":              head + rows,
		"carriage returns":   strings.ReplaceAll(head+rows, "\n", "\r\n"),
		"byte order mark":    "\ufeff" + head + rows,
		"quoted cells":       head + quoted,
		"spaces in the JSON": strings.NewReplacer(`"rate_hz":500`, ` "rate_hz" : 5e2`, `{"a":1}`, `{ "a" : 1 }`).Replace(head) + rows,
	} {
		t.Run(name, func(t *testing.T) {
			if got := mustRead(t, text); !reflect.DeepEqual(got, example()) {
				t.Errorf("read\n%+v\nwant\n%+v", got, example())
			}
		})
	}
}

func TestReadInSmallPieces(t *testing.T) {
	got, err := input.Read(iotest.OneByteReader(strings.NewReader(head+rows)), "test.csv")
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(got, example()) {
		t.Errorf("read %+v, want %+v", got, example())
	}
}

func TestReadOfHeadAlone(t *testing.T) {
	rec := mustRead(t, head)
	if rec.Rows() != 0 || len(rec.Columns) != 2 || rec.Duration() != 0 {
		t.Errorf("%d rows, %d columns, %v", rec.Rows(), len(rec.Columns), rec.Duration())
	}
}

// Whatever a kill or a power cut leaves of the rows is readable up to the last
// whole one.
func TestReadOfEveryBeginning(t *testing.T) {
	text := strings.Replace(head, "\nt_us,phase,", "\nt_us,phase,note,", 1) +
		"0,rest,plain,112,-32768\n2000,rest,\"a \"\"b\"\"\nc\",48,\n4000,,,-5,\"7\"\n"
	whole := mustRead(t, text)
	if whole.Rows() != 3 || whole.DroppedBytes != 0 || whole.Extra[0].Cells[1] != "a \"b\"\nc" {
		t.Fatalf("the whole file gave %+v", whole)
	}
	start := strings.Index(text, "left-brake\n") + len("left-brake\n")
	ends := []int{start, start + len("0,rest,plain,112,-32768\n"), strings.Index(text, "4000,"), len(text)}
	for n := start; n <= len(text); n++ {
		rec := mustRead(t, text[:n])
		complete := 0
		for complete+1 < len(ends) && ends[complete+1] <= n {
			complete++
		}
		if rec.Rows() != complete || rec.DroppedBytes != n-ends[complete] {
			t.Errorf("%d bytes: %d rows and %d dropped, want %d and %d",
				n, rec.Rows(), rec.DroppedBytes, complete, n-ends[complete])
		}
	}
	for n := range start {
		if _, err := input.Read(strings.NewReader(text[:n]), "test.csv"); !isFileError(err) {
			t.Errorf("a head of %d bytes: error %v, want a FileError", n, err)
		}
	}
}

func isFileError(err error) bool { return errors.As(err, new(*input.FileError)) }

func TestZerosAfterAPowerCutAreDropped(t *testing.T) {
	rec := mustRead(t, head+rows+strings.Repeat("\x00", 512))
	if rec.Rows() != 4 || rec.DroppedBytes != 512 {
		t.Errorf("%d rows and %d dropped, want 4 and 512", rec.Rows(), rec.DroppedBytes)
	}
}

func TestExtraColumnsAndCommentsAreKept(t *testing.T) {
	text := strings.Replace(head, "t_us,phase,pedals.rudder,", "# taken on a cold day\n#\nt_us,phase,\"odd, one\",pedals.rudder,weight,", 1) +
		"0,,\"a\r\nb\",1,w,2\n1,,x,3,w,4\n"
	rec := mustRead(t, text)
	if want := []string{" taken on a cold day", ""}; !reflect.DeepEqual(rec.Header.Comments, want) {
		t.Errorf("comments %q, want %q", rec.Header.Comments, want)
	}
	want := []input.ExtraColumn{
		{Name: "odd, one", Cells: []string{"a\r\nb", "x"}},
		{Name: "weight", Cells: []string{"w", "w"}},
	}
	if !reflect.DeepEqual(rec.Extra, want) {
		t.Errorf("extra columns %q, want %q", rec.Extra, want)
	}
	again := mustRead(t, mustWrite(t, rec))
	if !reflect.DeepEqual(again, rec) {
		t.Errorf("written and read again\n%+v\nwant\n%+v", again, rec)
	}
}

func TestOpen(t *testing.T) {
	path := filepath.Join(t.TempDir(), "pedals.csv")
	if err := os.WriteFile(path, []byte(head+rows), 0o600); err != nil {
		t.Fatal(err)
	}
	rec, err := input.Open(path)
	if err != nil || !reflect.DeepEqual(rec, example()) {
		t.Errorf("opened %+v, %v", rec, err)
	}
	if _, err := input.Open(path + ".missing"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("a missing file gave %v", err)
	}
	if _, err := input.Open(filepath.Dir(path)); err == nil {
		t.Error("a folder was opened as a recording")
	}
}

func TestReadPassesOnTheReadersError(t *testing.T) {
	broken := errors.New("the cable fell out")
	for _, text := range []string{"", head[:10], head[:100], head, head + rows} {
		r := io.MultiReader(strings.NewReader(text), iotest.ErrReader(broken))
		if _, err := input.Read(r, "test.csv"); !errors.Is(err, broken) {
			t.Errorf("after %d bytes: %v, want %v", len(text), err, broken)
		}
	}
}

// A row whose quotes span very many lines, and rows without end, are refused in
// time that grows with their size and no faster.
func TestEndlessRowsAreRefused(t *testing.T) {
	wide := strings.Replace(head, "t_us,phase,", "t_us,phase,note,", 1)
	for name, text := range map[string]string{
		"lines in quotes": wide + "0,,\"" + strings.Repeat("\n", 3<<20),
		"one long line":   head + strings.Repeat("0,", 3<<20) + "\n",
		"no line end":     head + strings.Repeat("1", 3<<20),
	} {
		_, err := input.Read(strings.NewReader(text), "test.csv")
		if !isFileError(err) || !strings.Contains(err.Error(), "test.csv:4: expected a line of at most 1048576 bytes") {
			t.Errorf("%s: %v", name, err)
		}
	}
	long := strings.Repeat("x", 600<<10) // longer than the read buffer
	rec := mustRead(t, wide+"0,,"+long+",1,2\n")
	if rec.Extra[0].Cells[0] != long {
		t.Error("a long cell changed on the way")
	}
}

func TestFind(t *testing.T) {
	rec := mustRead(t, head+rows)
	for label, want := range map[string]int{"rudder": 0, "left-brake": 1, "pedals.left-brake": 1} {
		if got, err := rec.Find(label); err != nil || got != want {
			t.Errorf("Find(%q) = %d, %v, want %d", label, got, err, want)
		}
	}
	_, err := rec.Find("pedals")
	if err == nil || !strings.Contains(err.Error(), "rudder, left-brake") {
		t.Errorf("error %v does not list the axes", err)
	}
	if d, a := rec.AxisOf(1); d.ID != "pedals" || a.Label != "left-brake" {
		t.Errorf("AxisOf(1) = %s, %s", d.ID, a.Label)
	}
}

func TestPhaseRanges(t *testing.T) {
	rec := mustRead(t, head+"0,rest,0,0\n1,rest:rudder,0,0\n2,sweep,0,0\n3,rest:left-brake,0,0\n4,rest,0,0\n")
	for label, want := range map[string][]int{"rudder": {0, 1, 4}, "left-brake": {0, 3, 4}, "": {0, 1, 3, 4}} {
		var got []int
		for _, s := range rec.PhaseRanges(input.Rest, label) {
			if s.To != s.From+1 {
				t.Errorf("stretch %+v is not one row", s)
			}
			got = append(got, s.From)
		}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("rest of %q begins at rows %v, want %v", label, got, want)
		}
	}
}
