package curves

import (
	"bytes"
	"encoding/json"
	"errors"
	"strings"
	"testing"
)

func brakeProfile() *Profile {
	return &Profile{Axes: []ProfileAxis{{Label: "left brake, worn", Response: brake()}}}
}

func brakeTables(t *testing.T) []Table {
	t.Helper()
	tables, err := brakeProfile().Tables(TableOptions{Points: 5, Places: 1, Spacing: Even})
	if err != nil {
		t.Fatal(err)
	}
	return tables
}

// v² from 10 % to 90 % in two lines: each errs by 1/16 at its middle.
func TestTableCSV(t *testing.T) {
	var b bytes.Buffer
	if err := WriteTablesCSV(&b, brakeTables(t)); err != nil {
		t.Fatal(err)
	}
	const want = `# halfstick table 1
# left brake, worn: 5 points, max_error 6.25 percent of full command
axis,counts,position_percent,command_percent
"left brake, worn",-30000,0.0,0.0
"left brake, worn",-24000,10.0,0.0
"left brake, worn",0,50.0,25.0
"left brake, worn",24000,90.0,100.0
"left brake, worn",30000,100.0,100.0
`
	if b.String() != want {
		t.Errorf("written:\n%s", b.String())
	}
}

func TestTableJSON(t *testing.T) {
	var b bytes.Buffer
	if err := WriteTablesJSON(&b, brakeTables(t)); err != nil {
		t.Fatal(err)
	}
	var compact bytes.Buffer
	if err := json.Compact(&compact, b.Bytes()); err != nil {
		t.Fatal(err)
	}
	const want = `{"format":"halfstick table 1","axes":[{"label":"left brake, worn",` +
		`"points":[[0,0],[0.1,0],[0.5,0.25],[0.9,1],[1,1]],"counts":[-30000,-24000,0,24000,30000],"max_error":6.25,"monotone":true}]}`
	if compact.String() != want {
		t.Errorf("written:\n%s", b.String())
	}
}

func TestMonotoneCanBeFalse(t *testing.T) {
	table := brakeTables(t)[0]
	table.Points[2].Command = -0.1
	if table.Monotone() {
		t.Error("a falling command counts as monotone")
	}
	table.Points[2].Command = 0.25
	table.Points[2].Position = table.Points[1].Position
	if table.Monotone() {
		t.Error("a repeated position counts as monotone")
	}
}

func TestTablesNameTheAxis(t *testing.T) {
	_, err := brakeProfile().Tables(TableOptions{Points: 2, Places: 1, Spacing: Even})
	if err == nil || !strings.HasPrefix(err.Error(), `axis "left brake, worn": points: is 2, expected at least 4`) {
		t.Errorf("the error is %v", err)
	}
}

type fullDisk struct{}

func (fullDisk) Write([]byte) (int, error) { return 0, errors.New("disk full") }

func TestTableWritersPassErrorsOn(t *testing.T) {
	for _, write := range []func() error{
		func() error { return WriteTablesCSV(fullDisk{}, brakeTables(t)) },
		func() error { return WriteTablesJSON(fullDisk{}, brakeTables(t)) },
		func() error { return mustParse(t, example).Write(fullDisk{}) },
	} {
		if err := write(); err == nil || !strings.Contains(err.Error(), "disk full") {
			t.Errorf("the error is %v", err)
		}
	}
}
