package translate

import (
	"errors"
	"io"
	"regexp"
	"strings"
	"testing"
	"testing/iotest"
)

const head = "setting,position_percent,command_percent\n"

func TestReadKeepsWhatWasNoted(t *testing.T) {
	for name, text := range map[string]string{
		"plain":   "# noted\n" + head + "30,50,20.5\n-10,25,40\n",
		"windows": "\ufeff# noted\r\n" + strings.TrimSuffix(head, "\n") + "\r\n30,50,20.5\r\n-10,25,40\r\n",
		"extra":   "# noted\ncommand_percent, position_percent,who,setting\n20.5,50,me,30\n40, 25,,-10\n",
	} {
		got, err := Read(strings.NewReader(text), "r.csv")
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		want := []Reading{{30, 0.5, 0.205, 3}, {-10, 0.25, 0.4, 4}}
		if len(got.Rows) != 2 || got.Rows[0] != want[0] || got.Rows[1] != want[1] {
			t.Errorf("%s: %v", name, got.Rows)
		}
	}
}

// Each fault is named with file and line, and what to do.
func TestReadRefuses(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"empty", "", "r.csv:1: the file is empty; its first line names the columns"},
		{"only comments", "# a\n# b\n", "r.csv:1: the file is empty"},
		{"missing column", "# a\nsetting,position_percent\n1,2\n", `r.csv:2: there is no column command_percent in "setting,position_percent"; the first line names`},
		{"semicolons", "setting;position_percent;command_percent\n", "r.csv:1: there is no column setting"},
		{"no names", "30,50,20\n", "r.csv:1: there is no column setting"},
		{"column twice", "setting,setting,position_percent,command_percent\n", "r.csv:1: the column setting is there twice; take one out"},
		{"no rows", head, "r.csv:1: there are no readings"},
		{"decimal comma", head + "30,50,20\n30,60,25,5\n", "r.csv:3: expected 3 values, one for each column, found 4; write decimals with a point"},
		{"too short", head + "30,50\n", "r.csv:2: expected 3 values"},
		{"unit", head + "30,50,20\n\n30,60 %,25\n", `r.csv:4: position_percent is "60 %", which is not a number; write it like 12.5`},
		{"word", head + "high,50,20\n", `r.csv:2: setting is "high", which is not a number`},
		{"nothing", head + "30,50,\n", `r.csv:2: command_percent is "", which is not a number`},
		{"not a number", head + "30,50,NaN\n", "r.csv:2: command_percent is \"NaN\", which is not a number"},
		{"endless", head + "Inf,50,20\n", "r.csv:2: setting is Inf, expected -1000000 to 1000000; note the number that the program shows"},
		{"negative", head + "30,-50,20\n", "r.csv:2: position_percent is -50, expected 0 to 100; note a stretch of one side"},
		{"above full", head + "30,50,20\n30,60,120\n", "r.csv:3: command_percent is 120, expected 0 to 100"},
		{"quotes", head + "30,50,\"20\n", "r.csv:"},
		{"alike", head + "30,50,20\n40,50,18\n30,50,20\n", "r.csv:4: this reading is the same as that of line 2; take one out"},
		{"contradicting", head + "30,50,20\n40,50,18\n30,50,22\n", "r.csv:4: setting 30 at position 50 % gave 22 %, but 20 % in line 2; read there again"},
		{"falling", head + "30,70,40\n40,50,18\n30,50,45\n", "r.csv:2: at setting 30 the command falls from 45 % at position 50 % (line 4) to 40 % at 70 %, which no shape does; read both again"},
		{"at centre", head + "30,0,5\n", "r.csv:2: the command at position 0 is 5 %, expected 0"},
		{"at full throw", head + "30,50,20\n30,100,90\n", "r.csv:3: the command at full throw is 90 %, expected 100"},
		{"ends only", head + "30,0,0\n30,100,100\n", "r.csv:2: every reading is at an end of the throw"},
		{"far too many", head + strings.Repeat("30,50,20\n", 1001), "r.csv:1002: there are more than 1000 readings"},
		{"binary", "\x00\x01\x02", "r.csv:1: this is not text in UTF-8; save the readings as CSV in UTF-8"},
		{"UTF-16", "\xff\xfes\x00e\x00", "r.csv:1: this is not text in UTF-8"},
		{"another coding", head + "30,50,20\n# gro\xdf\n", "r.csv:3: this is not text in UTF-8"},
		{"a NUL byte", head + "30,5\x000,20\n", "r.csv:2: this is not text in UTF-8"},
		{"a line of ten million characters", head + strings.Repeat("3", 10_000_000), "r.csv:2: the file is longer than 1048576 bytes"},
		{"comments without end", strings.Repeat("#\n", 5_000_000), "r.csv:524289: the file is longer than 1048576 bytes"},
		{"tabs", "setting\tposition_percent\tcommand_percent\n", "r.csv:1: there is no column setting"},
		{"thousands of columns", head + "30,50,20" + strings.Repeat(",", 5000) + "\n", "r.csv:2: expected 3 values, one for each column, found 5003"},
		{"huge", head + "30,50,1e400\n", "r.csv:2: command_percent is \"1e400\", which is not a number"},
		{"a cursor that is moved", head + "30,50,\x1b[2J\n", `r.csv:2: command_percent is "\x1b[2J", which is not a number`},
		{"quotes open", head + "\"30,50,20\n40,50,18\n", "r.csv:3: "},
		{"old ends of lines", strings.ReplaceAll(head+"30,50,20\n", "\n", "\r"), "r.csv:1: there is no column command_percent"},
	} {
		if _, err := Read(strings.NewReader(c.text), "r.csv"); err == nil || !strings.HasPrefix(err.Error(), c.want) {
			t.Errorf("%s: %v\nexpected %s", c.name, err, c.want)
		}
	}
}

func TestReadSaysThatTheFileBroke(t *testing.T) {
	broke := errors.New("the disk is gone")
	for _, before := range []string{"", head + "30,50,20\n"} {
		r := io.MultiReader(strings.NewReader(before), iotest.ErrReader(broke))
		if _, err := Read(r, "r.csv"); !errors.Is(err, broke) {
			t.Errorf("after %q: %v", before, err)
		}
	}
}

func FuzzRead(f *testing.F) {
	f.Add(head + "30,50,20\n40,25,7\n")
	f.Add("\ufeff#\n" + head + "\"30\",5e1,20\n")
	f.Fuzz(func(t *testing.T, text string) {
		r, err := Read(strings.NewReader(text), "r.csv")
		if err != nil {
			if line := (regexp.MustCompile(`^r\.csv:[1-9][0-9]*: .*$`)); !line.MatchString(err.Error()) {
				t.Fatalf("the error %q has no line of the file, or more lines than one", err)
			}
			return
		}
		if len(r.inside()) == 0 {
			t.Fatal("readings that say nothing were taken")
		}
		id, err := Identify(r, Options{ReadingError: 0.005})
		if err != nil {
			return
		}
		sum := 0.0
		for _, c := range id.Candidates {
			sum += c.Weight
		}
		if !(sum > 0.999999 && sum < 1.000001) {
			t.Fatalf("the weights add up to %g", sum)
		}
	})
}
