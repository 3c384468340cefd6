package input_test

import (
	"reflect"
	"strings"
	"testing"

	"halfstick/input"
)

const commented = "# {\"at_us\":5,\"event\":\"unplugged\",\"device\":\"pedals\"}\n" +
	"0,rest,112,-32768\n2000,rest,48,-32768\n" +
	"#by hand\n# {\"event\":7}\n# {\"at_us\":4001,\"event\":\"asleep\",\"seconds\":61.25}\n" +
	"4001,,50,\n" +
	"# {\"sampling\":{\"rows\":3,\"asked_hz\":500,\"reached_hz\":499.9,\"interval_ms\":{\"p50\":2,\"p99\":2.1,\"p99_9\":3,\"max\":4}," +
	"\"interval_error_ms\":{\"p50\":0,\"p99\":0.1,\"p99_9\":1,\"max\":2},\"late_ticks\":1,\"lost_rows\":0}}\n"

func TestCommentsAmongRowsAreKept(t *testing.T) {
	text := head + commented
	rec := mustRead(t, text)
	if rec.Rows() != 3 || rec.DroppedBytes != 0 {
		t.Fatalf("%d rows, %d bytes dropped", rec.Rows(), rec.DroppedBytes)
	}
	var before []int
	for _, c := range rec.Comments {
		before = append(before, c.Row)
	}
	if want := []int{0, 2, 2, 2, 3}; !reflect.DeepEqual(before, want) {
		t.Errorf("comments stand before rows %v, want %v", before, want)
	}
	if got := mustWrite(t, rec); got != text {
		t.Errorf("written again it is\n%s", got)
	}
	events := []input.Event{
		{AtUS: 5, Kind: input.Unplugged, Device: "pedals"},
		{AtUS: 4001, Kind: input.Asleep, Seconds: 61.25},
	}
	if got := rec.Events(); !reflect.DeepEqual(got, events) {
		t.Errorf("events %+v, want %+v", got, events)
	}
	sampling := []input.Sampling{{
		Rows: 3, AskedHz: 500, ReachedHz: 499.9, LateTicks: 1,
		IntervalMS: input.Spread{P50: 2, P99: 2.1, P999: 3, Max: 4},
		ErrorMS:    input.Spread{P99: 0.1, P999: 1, Max: 2},
	}}
	if got := rec.Samplings(); !reflect.DeepEqual(got, sampling) {
		t.Errorf("samplings %+v, want %+v", got, sampling)
	}
}

// A comment that a kill has cut off is dropped like a row.
func TestCommentsThatAreCutOff(t *testing.T) {
	rec := mustRead(t, head+rows+"# {\"sampl")
	if rec.Rows() != 4 || len(rec.Comments) != 0 || rec.DroppedBytes != len("# {\"sampl") {
		t.Errorf("%d rows, comments %v, %d bytes dropped", rec.Rows(), rec.Comments, rec.DroppedBytes)
	}
}

func TestCommentsThatCannotStandOnALine(t *testing.T) {
	for _, bad := range []string{"a\rb\n", "\xff\n"} {
		for _, text := range []string{head + "#" + bad + rows, strings.Replace(head, "t_us", "#"+bad+"t_us", 1)} {
			if _, err := input.Read(strings.NewReader(text), "test.csv"); !isFileError(err) {
				t.Errorf("a comment %q gives %v", bad, err)
			}
		}
	}
	w, err := input.NewWriter(&strings.Builder{}, exampleHeader())
	if err != nil {
		t.Fatal(err)
	}
	if err := w.Comment("a\n0,,1,1"); err == nil {
		t.Error("a comment of two lines was written")
	}
	row := input.Row{Counts: make([]int16, 2), Comments: []string{"a\n0,,1,1"}}
	if err := w.Write(row); err == nil {
		t.Error("a row's comment of two lines was written")
	}
	for _, comments := range [][]input.Comment{{{Row: 5}}, {{Row: 2}, {Row: 1}}, {{Row: -1}}} {
		rec := mustRead(t, head+rows)
		rec.Comments = comments
		if err := rec.Write(&strings.Builder{}); err == nil {
			t.Errorf("comments %v were written", comments)
		}
	}
}

func TestJoinedRecordingsKeepTheirComments(t *testing.T) {
	rec := mustRead(t, head+commented)
	joined, err := input.Join([]*input.Recording{rec, rec}, []string{"a", "b"})
	if err != nil {
		t.Fatal(err)
	}
	if got := joined.Comments[len(rec.Comments)]; got.Row != 3 || len(joined.Samplings()) != 2 {
		t.Errorf("the second one's first comment is %+v; %d samplings", got, len(joined.Samplings()))
	}
}
