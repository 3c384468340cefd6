package curves

import (
	"bufio"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"strconv"
)

// TableFormat is the format field of the table's JSON file, and the first
// comment line of the CSV file.
const TableFormat = "halfstick table 1"

// WriteTablesCSV writes tables as comment lines, which carry each axis's
// max_error, and rows axis,counts,position_percent,command_percent.
func WriteTablesCSV(w io.Writer, tables []Table) error {
	b := bufio.NewWriter(w)
	fmt.Fprintln(b, "# "+TableFormat)
	for _, t := range tables {
		fmt.Fprintf(b, "# %s: %d points, max_error %s percent of full command\n", t.Label, len(t.Points), number(roundedUp(t.MaxError)))
	}
	rows := csv.NewWriter(b)
	rows.Write([]string{"axis", "counts", "position_percent", "command_percent"}) // errors stay until Flush
	for _, t := range tables {
		for _, p := range t.Points {
			rows.Write([]string{t.Label, strconv.Itoa(p.Counts), percent(p.Position, t.Places), percent(p.Command, t.Places)})
		}
	}
	rows.Flush()
	if err := rows.Error(); err != nil {
		return err
	}
	return b.Flush()
}

// WriteTablesJSON writes tables as
// {"format":…,"axes":[{"label":…,"points":[[u,y],…],"counts":[…],"max_error":…,"monotone":true}]}
// with the counts of each point and max_error in percent of full command.
func WriteTablesJSON(w io.Writer, tables []Table) error {
	axes := make([]json.RawMessage, len(tables))
	for i, t := range tables {
		points, counts := make([][2]float64, len(t.Points)), make([]int, len(t.Points))
		for j, p := range t.Points {
			points[j], counts[j] = [2]float64{p.Position, p.Command}, p.Counts
		}
		axis, err := fields{{"label", t.Label}, {"points", points}, {"counts", counts}, {"max_error", roundedUp(t.MaxError)}, {"monotone", t.Monotone()}}.with(nil)
		if err != nil {
			return err
		}
		axes[i] = axis
	}
	all, err := fields{{"format", TableFormat}, {"axes", axes}}.with(nil)
	if err != nil {
		return err
	}
	_, err = w.Write(layOut(all))
	return err
}

// roundedUp gives an error bound six decimals, upward, so that it stays true; a
// billionth above a decimal is rounding and does not count.
func roundedUp(x float64) float64 { return math.Ceil(x*1e6-1e-3) / 1e6 }

// percent writes a share as percent.
func percent(x float64, places int) string { return strconv.FormatFloat(100*x, 'f', places, 64) }
