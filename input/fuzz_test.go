package input_test

import (
	"bytes"
	"reflect"
	"strings"
	"testing"

	"halfstick/input"
)

// checkReading asks of any bytes: reading does not panic, and gives either a
// FileError or a recording that is the same after writing and reading.
func checkReading(t *testing.T, text []byte) {
	rec, err := input.Read(bytes.NewReader(text), "fuzz.csv")
	if err != nil {
		if !isFileError(err) || strings.Contains(err.Error(), "\n") {
			t.Fatalf("error %q is not a FileError of one line", err)
		}
		return
	}
	var file bytes.Buffer
	if err := rec.Write(&file); err != nil {
		t.Fatalf("what was read cannot be written: %v", err)
	}
	again, err := input.Read(&file, "fuzz.csv")
	if err != nil {
		t.Fatalf("what was written cannot be read: %v", err)
	}
	rec.DroppedBytes = 0
	if !reflect.DeepEqual(rec, again) {
		t.Fatalf("read\n%+v\nthen\n%+v", rec, again)
	}
}

func FuzzRead(f *testing.F) {
	wide := strings.Replace(head, "t_us,phase,", "# a comment\nt_us,phase,\"a \"\"note\"\"\",", 1)
	for _, seed := range []string{
		"", head, head + rows, head + rows[:len(rows)-3], "\ufeff" + head + rows,
		strings.ReplaceAll(head+rows, "\n", "\r\n"),
		wide + "0,,\"a\r\nb\"\"\",1,2\n5,flight,x,,\n", wide + "0,,\"a\n",
		head + "0,rest,\"1\",\"-2\"\n", head + "9223372036854775807,,0,-0\n",
		head + commented, head + "#\r\n#a\rb\n", "\x1f\x8b\x08", "\xff\xfe#\x00", "# halfstick recording 2\n",
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(checkReading)
}

func FuzzHeader(f *testing.F) {
	line := strings.TrimPrefix(strings.Split(head, "\n")[1], "# ")
	for _, seed := range []string{
		line, `{}`, `null`, `[]`, `{"devices":[{"axes":[{}]}]}`, strings.Repeat(`{"a":[`, 50),
		strings.Replace(line, `"fuzz":0`, `"fuzz":1e1,"x":"<\u2028>"`, 1),
		strings.Replace(line, `"rate_hz":500`, `"RATE_HZ":1,"rate_hz":1e-320`, 1),
		strings.Replace(line, `10:00:00Z`, `10:00:00.5+01:30`, 1),
		strings.Replace(line, `"Example Pedals"`, `"\ud800 \u0000"`, 1),
	} {
		f.Add([]byte(seed))
	}
	f.Fuzz(func(t *testing.T, header []byte) {
		text := append([]byte("# halfstick recording 1\n# "), header...)
		checkReading(t, append(text, "\nt_us,phase,pedals.rudder,pedals.left-brake\n"+rows...))
	})
}
