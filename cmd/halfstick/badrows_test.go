package main

import (
	"fmt"
	"math"
	"reflect"
	"strconv"
	"strings"

	"halfstick/fit/measure"
)

// brokenRows are refused for what stands in the rows.
var brokenRows = []badRecording{
	{name: "a decimal comma", spoil: withCell(3, "1,5"), line: badLine, says: "expected 5 cells, as many as columns, found 6"},
	{name: "a decimal point", spoil: withCell(3, "1.5"), line: badLine, says: `pedals.left-brake as a whole number from -32768 to 32767, found "1.5"`},
	{name: "an exponent", spoil: withCell(3, "1e3"), line: badLine, says: `found "1e3"`},
	{name: "NaN", spoil: withCell(3, "NaN"), line: badLine, says: `found "NaN"; correct the cell, or leave it empty`},
	{name: "infinity", spoil: withCell(3, "-Inf"), line: badLine, says: `found "-Inf"`},
	{name: "null", spoil: withCell(3, "null"), line: badLine, says: `found "null"`},
	{name: "an error of a spreadsheet", spoil: withCell(3, "#REF!"), line: badLine, says: `found "#REF!"`},
	{name: "hexadecimal", spoil: withCell(3, "0x7f"), line: badLine, says: `found "0x7f"`},
	{name: "grouped digits", spoil: withCell(3, "32'000"), line: badLine, says: `found "32'000"`},
	{name: "a space", spoil: withCell(3, " 12"), line: badLine, says: `found " 12"`},
	{name: "a typographic minus", spoil: withCell(3, "−12"), line: badLine, says: `found "−12"`},
	{name: "digits of another script", spoil: withCell(3, "١٢"), line: badLine, says: `found "١٢"`},
	{name: "a count above all", spoil: withCell(3, "32768"), line: badLine, says: `found "32768"`},
	{name: "a count below all", spoil: withCell(3, "-32769"), line: badLine, says: `found "-32769"`},
	{name: "a count of 300 digits", spoil: withCell(3, strings.Repeat("9", 300)), line: badLine, says: `found "99999`},
	{name: "a count that would wrap around", spoil: withCell(3, "18446744073709551616"), line: badLine, says: "as a whole number"},
	{name: "a NUL byte", spoil: withCell(3, "\x00"), line: badLine, says: `found "\x00"`},
	{name: "a cursor that is moved", spoil: withCell(3, "\x1b[2J"), line: badLine, says: `found "\x1b[2J"`},
	{name: "a tab for a comma", spoil: withCell(3, "1\t2"), line: badLine, says: `found "1\t2"`},
	{name: "semicolons in a row", spoil: withRow(func(c []string) string { return strings.Join(c, ";") }), line: badLine, says: "expected 5 cells, as many as columns, found 1"},
	{name: "a cell too few", spoil: withRow(func(c []string) string { return strings.Join(c[:4], ",") }), line: badLine, says: "found 4"},
	{name: "a cell too many", spoil: withRow(func(c []string) string { return strings.Join(append(c, "0"), ",") }), line: badLine, says: "found 6"},
	{name: "a row cut within the file", spoil: withRow(func(c []string) string { return c[0] + "," + c[1] + "," + c[2][:1] }), line: badLine, says: "found 3"},
	{name: "a row that lost its end", spoil: func(f file) string {
		rows := append([]string(nil), f.rows...)
		rows[badRow] = strings.TrimSuffix(rows[badRow], "\n")
		f.rows = rows
		return f.text()
	}, line: badLine, says: "found 9"},
	{name: "an empty row", spoil: withRow(func([]string) string { return "" }), line: badLine, says: "found an empty line"},
	{name: "an empty row at the end", spoil: func(f file) string { return f.text() + "\n" }, line: lastLine, says: "found an empty line"},
	{name: "columns swapped in a row", spoil: withRow(func(c []string) string { c[0], c[1] = c[1], c[0]; return strings.Join(c, ",") }), line: badLine, says: "expected t_us as whole microseconds"},
	{name: "a quote within a cell", spoil: withCell(3, `1"2`), line: badLine, says: "quotes around a whole cell only"},
	{name: "quotes left open", spoil: withCell(3, `"12`), line: badLine, says: "expected the closing quote of cell 4"},
	{name: "ten million characters in a row", spoil: withCell(3, strings.Repeat("1", tenMillion)), line: badLine, says: "a line of at most 1048576 bytes"},
	{name: "ten million characters of a comment", spoil: withRow(func([]string) string { return "#" + strings.Repeat("x", tenMillion) }), line: badLine, says: "a line of at most 1048576 bytes"},
	{name: "ten million cells", spoil: withRow(func(c []string) string { return strings.Join(c, ",") + strings.Repeat(",", tenMillion) }), line: badLine, says: "a line of at most 1048576 bytes"},
	{name: "ten million zeros behind the last row", spoil: func(f file) string { return f.head() + strings.Repeat("\x00", tenMillion) }, line: 4, says: "a line of at most 1048576 bytes"},
	{name: "a comment in another coding", spoil: withRow(func([]string) string { return "# gro\xdf" }), line: badLine, says: "a comment on one line of UTF-8"},
	{name: "a comment within a row", spoil: withRow(func(c []string) string { return strings.Join(c, ",") + " # here" }), line: badLine, says: `# here"`},

	{name: "times equal", spoil: withCell(0, "990000"), line: badLine, says: "expected t_us above the last row's 990000, found 990000"},
	{name: "time going back", spoil: withCell(0, "980000"), line: badLine, says: "time must rise from row to row"},
	{name: "time below 0", spoil: withCell(0, "-1"), line: badLine, says: "expected t_us of 0 or more, found -1"},
	{name: "time with a point", spoil: withCell(0, "1000000.5"), line: badLine, says: "t_us as whole microseconds"},
	{name: "time of a clock", spoil: withCell(0, "10:00:01"), line: badLine, says: "t_us as whole microseconds"},
	{name: "time empty", spoil: withCell(0, ""), line: badLine, says: "t_us as whole microseconds"},
	{name: "time not a number", spoil: withCell(0, "NaN"), line: badLine, says: "t_us as whole microseconds"},
	{name: "time beyond all numbers", spoil: withCell(0, "99999999999999999999"), line: badLine, says: "t_us as whole microseconds"},
	{name: "time of a thousand years", spoil: withCell(0, "31557600000000000"), line: badLine, says: "expected t_us of at most 1000000000000000"},
	{name: "rows upside down", spoil: func(f file) string {
		rows := append([]string(nil), f.rows...)
		for i, row := range f.rows {
			rows[len(rows)-1-i] = row
		}
		f.rows = rows
		return f.text()
	}, line: 5, says: "time must rise"},
	{name: "every row twice", spoil: eachRow(func(i int, c []string) []string { return append(c, "\n"+strings.Join(c, ",")) }), line: 4, says: "found 6"},
	{name: "two recordings in one file", spoil: func(f file) string { return f.text() + f.columns + f.body() }, says: `found "t_us"`, line: lastLine},

	{name: "unknown phase", spoil: withCell(1, "resting"), line: badLine, says: `expected a phase (rest, sweep, release-low`},
	{name: "phase of an unknown axis", spoil: withCell(1, "sweep:aileron"), line: badLine, says: "about an axis of the recording"},
	{name: "phase of nothing", spoil: withCell(1, "sweep:"), line: badLine, says: `found "sweep:"`},
	{name: "a phase of ten thousand letters", spoil: withCell(1, strings.Repeat("rest", 2500)), line: badLine, says: `rest"…`},

	{name: "no rows", spoil: func(f file) string { return f.head() }, says: "the recording has no rows"},
	{name: "half a row", spoil: func(f file) string { return f.head() + f.rows[0][:4] }, says: "the recording has no rows"},
	{name: "comments for rows", spoil: func(f file) string { return f.head() + strings.Repeat("# nothing\n", 5) }, says: "the recording has no rows"},
}

// lastLine stands for the line behind the good recording's last.
const lastLine = -1

func quoted(row int, cells []string) []string {
	for i := range cells {
		cells[i] = `"` + cells[i] + `"`
	}
	return cells
}

// measurable are odd, but what stands in them can be measured.
var measurable = []badRecording{
	{name: "as it is", spoil: file.text},
	{name: "carriage returns", spoil: everywhere("\n", "\r\n")},
	{name: "a byte order mark", spoil: func(f file) string { return "\ufeff" + f.text() }},
	{name: "both, as an editor saves it", spoil: func(f file) string { return "\ufeff" + strings.ReplaceAll(f.text(), "\n", "\r\n") }},
	{name: "carriage returns in half of it", spoil: func(f file) string { return f.head() + strings.ReplaceAll(f.body(), "0\n", "0\r\n") }},
	{name: "quotes around every cell", spoil: eachRow(quoted)},
	{name: "zeros in front", spoil: eachRow(func(_ int, c []string) []string { c[0] = "000" + c[0]; return c })},
	{name: "spaces behind the format", spoil: func(f file) string { return strings.Replace(f.text(), "\n", "  \t\n", 1) }},
	{name: "comments behind the rows", spoil: func(f file) string { return f.text() + "# the end\n#\n#,,,\n" }},
	{name: "comments everywhere", spoil: func(f file) string {
		return f.magic + f.header + "# why\n" + f.columns + strings.ReplaceAll(f.body(), "\n", "\n# so\n")
	}},
	{name: "a comment of JSON nested deep", spoil: func(f file) string { return f.text() + "# " + nested(20_000) + "\n" }},
	{name: "a comment that is an event of nothing", spoil: func(f file) string { return f.text() + `# {"event":7,"at_us":"x","sampling":[]}` + "\n" }},
	{name: "cut in the last row", spoil: func(f file) string { return f.text() + "99999999,rest,1" }},
	{name: "the sign of an old system at the end", spoil: func(f file) string { return f.text() + "\x1a" }},
	{name: "zeros of a power cut at the end", spoil: func(f file) string { return f.text() + strings.Repeat("\x00", 8192) }},
	{name: "a further column", spoil: func(f file) string {
		f.columns = strings.Replace(f.columns, "phase", "phase,note", 1)
		return eachRow(func(_ int, c []string) []string { c[1] += `,"a, ""b"""`; return c })(f)
	}},
	{name: "thousands of further columns", spoil: func(f file) string {
		var names strings.Builder
		for i := range 1000 {
			fmt.Fprintf(&names, ",n%d", i)
		}
		f.columns = strings.TrimSuffix(f.columns, "\n") + names.String() + "\n"
		return eachRow(func(_ int, c []string) []string { return append(c, strings.Repeat(",", 999)) })(f)
	}},
	{name: "unknown fields", spoil: inHeader(`"rate_hz"`, `"colour":"grey","rate_hz"`)},
	{name: "an unknown field nested 9000 deep", spoil: inHeader(`"rate_hz"`, `"deep":`+nested(9000)+`,"rate_hz"`)},
	{name: "a name that would move the cursor", spoil: inHeader("Example", `\u001b[2JExample`)},
	{name: "a rate of nearly nothing", spoil: inHeader(`"rate_hz":100`, `"rate_hz":1e-300`)},
	{name: "a rate of nearly everything", spoil: inHeader(`"rate_hz":100`, `"rate_hz":1e300`)},
	{name: "started in the year 9999", spoil: inHeader("2026-", "9999-")},

	{name: "begun after a year", spoil: eachRow(shift(0, year)), measures: alike},
	{name: "a year in the middle", spoil: eachRow(shift(1500, year)), measures: alike},
	{name: "thirty years in the middle", spoil: eachRow(shift(1500, 30*year)), measures: alike},
	{name: "a day between all rows", spoil: eachRow(func(i int, c []string) []string { c[0] = strconv.Itoa(i * 86_400_000_000); return c }), measures: knowsTravel},
	{name: "a microsecond between all rows", spoil: eachRow(func(i int, c []string) []string { c[0] = strconv.Itoa(i); return c }), measures: knowsStep},
	{name: "one row", spoil: func(f file) string { return f.head() + f.rows[0] }, measures: knowsNothing},
	{name: "two rows", spoil: func(f file) string { return f.head() + f.rows[0] + f.rows[1] }, measures: knowsNothing},
	{name: "all cells empty", spoil: eachRow(func(_ int, c []string) []string { return append(c[:2], "", "", "") }), measures: knowsNothing},
	{name: "one axis never there", spoil: eachRow(func(_ int, c []string) []string { c[4] = ""; return c }), measures: func(m, good *measure.Measurement) error {
		if !reflect.DeepEqual(m.Axes[0].Travel, good.Axes[0].Travel) || !noted(m.Axes[2], "never present") || m.Axes[2].Travel.Low != nil {
			return fmt.Errorf("the rudder is %+v and the brake %+v", m.Axes[0].Travel, m.Axes[2])
		}
		return nil
	}},
	{name: "every other cell empty", spoil: eachRow(func(i int, c []string) []string {
		if i%2 == 1 {
			c = append(c[:2], "", "", "")
		}
		return c
	}), measures: knowsStep},
	{name: "nothing moves", spoil: eachRow(func(_ int, c []string) []string { return append(c[:2], "7", "7", "7") }), measures: func(m, _ *measure.Measurement) error {
		if a := m.Axes[0]; a.Step != nil || a.Rest.Sigma != nil || !noted(a, "the counts never changed") || !noted(a, "did not move in its sweeps") {
			return fmt.Errorf("the rudder has step %+v, rest noise %+v and notes %q", a.Step, a.Rest.Sigma, a.Notes)
		}
		return nil
	}},
	{name: "stop to stop in every row", spoil: eachRow(func(i int, c []string) []string {
		return append(c[:2], []string{"-32768", "32767"}[i%2], "32767", "-32768")
	}), measures: shown},
	{name: "noise over the whole range", spoil: eachRow(func(i int, c []string) []string {
		x := strconv.Itoa(i*40503%65536 - 32768)
		return append(c[:2], x, x, x)
	}), measures: shown},
	{name: "no phases", spoil: eachRow(func(_ int, c []string) []string { c[1] = ""; return c }), measures: func(m, good *measure.Measurement) error {
		if !noted(m.Axes[0], "sweeps are not labelled") {
			return fmt.Errorf("notes are %q", m.Axes[0].Notes)
		}
		return nil
	}},
	{name: "another phase in every row", spoil: eachRow(func(i int, c []string) []string {
		c[1] = []string{"rest", "sweep:rudder", "release-low", "release-high:rudder", "hold", "flight", ""}[i%7]
		return c
	}), measures: shown},
	{name: "all of it a release", spoil: eachRow(func(_ int, c []string) []string { c[1] = "release-low:rudder"; return c }), measures: shown},
	{name: "axes of other kinds", spoil: everywhere(`"one-sided"`, `"two-sided"`), measures: shown},
	{name: "a device's own codes impossible", spoil: inHeader(`"kind":"two-sided"`, `"kind":"two-sided","raw_min":-9223372036854775808,"raw_max":9223372036854775807`), measures: shown},
}

// year is in microseconds.
const year = 31_557_600_000_000

// shift puts all rows from one on later, as a clock that is set does.
func shift(from, us int) func(int, []string) []string {
	return func(i int, c []string) []string {
		if i >= from {
			at, err := strconv.Atoi(c[0])
			if err != nil {
				panic(err)
			}
			c[0] = strconv.Itoa(at + us)
		}
		return c
	}
}

func noted(a measure.Axis, says string) bool {
	return strings.Contains(strings.Join(a.Notes, "\n"), says)
}

func shown(*measure.Measurement, *measure.Measurement) error { return nil }

// alike wants what a jump of the time cannot change, and the rest noise about
// the same.
func alike(m, good *measure.Measurement) error {
	for i := range m.Axes {
		got, want := m.Axes[i], good.Axes[i]
		if a, b := got.Step, want.Step; !reflect.DeepEqual(a, b) {
			return fmt.Errorf("%s has step %+v, want %+v", got.Label, a, b)
		}
		// Times so far from 0 are coarser by far than a clock's.
		if a, b := got.Travel.High, want.Travel.High; a == nil || math.Abs(a.Value-b.Value) > 0.01 {
			return fmt.Errorf("%s goes to %+v, want %+v", got.Label, a, b)
		}
		if a, b := got.Rest.Sigma, want.Rest.Sigma; a == nil || math.Abs(a.Value/b.Value-1) > 0.3 {
			return fmt.Errorf("%s has rest noise %+v, want about %+v", got.Label, a, b)
		}
	}
	return nil
}

func knowsStep(m, good *measure.Measurement) error {
	if m.Axes[0].Step == nil || m.Axes[0].Step.Value != good.Axes[0].Step.Value {
		return fmt.Errorf("the step is %+v, want %+v", m.Axes[0].Step, good.Axes[0].Step)
	}
	return nil
}

func knowsTravel(m, good *measure.Measurement) error {
	if m.Axes[0].Timing.ReportHz != nil {
		return fmt.Errorf("a report rate of %+v is read from rows a day apart", m.Axes[0].Timing.ReportHz)
	}
	return knowsStep(m, good)
}

// knowsNothing wants every axis to say that it knows nothing, and no finding
// that it is sound or broken.
func knowsNothing(m, _ *measure.Measurement) error {
	for _, a := range m.Axes {
		if a.Travel.High != nil || a.Rest.Sigma != nil || a.Return.Gap != nil || len(a.Notes) == 0 {
			return fmt.Errorf("%s has travel %+v, rest noise %+v, return %+v and notes %q", a.Label, a.Travel, a.Rest.Sigma, a.Return, a.Notes)
		}
		for _, f := range a.Findings {
			if f.Code != "too-little-data" {
				return fmt.Errorf("%s is found %s: %s", a.Label, f.Code, f.Says)
			}
		}
	}
	return nil
}
