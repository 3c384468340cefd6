package input

import (
	"fmt"
	"io"
	"strings"
	"time"
)

// ExtraColumn is a column this version does not know, kept for rewriting.
type ExtraColumn struct {
	Name  string
	Cells []string // one a row
}

// Recording is a whole recording in memory, some seven bytes a row of eight axes:
// rows mostly repeat what the devices reported before.
type Recording struct {
	Header       Header
	Times        Times     // strictly rising microseconds since the start
	Stretches    []Stretch // cover all rows in order
	Columns      []Column  // one an axis, in header order
	Extra        []ExtraColumn
	Comments     []Comment // the comment lines from the first row on, in order
	DroppedBytes int       // an unfinished last row that was left out
}

// Row is one sample of the whole rig.
type Row struct {
	AtUS    int64 // microseconds since the start of the recording, from 0
	Phase   Phase
	Counts  []int16  // one a column, in header order
	Present []bool   // nil: all present
	Extra   []string // one an extra column; nil where there are none
	// Comments are the comment lines before the row, without their '#'.
	Comments []string
}

// RowWriter takes rows one by one. The row's slices belong to the caller and
// change after Write returns.
type RowWriter interface {
	Write(Row) error
}

// Rows is the number of rows.
func (r *Recording) Rows() int { return r.Times.Len() }

// Duration is the time from the first row to the last, 0 without rows.
func (r *Recording) Duration() time.Duration {
	rows := r.Rows()
	if rows == 0 {
		return 0
	}
	return time.Duration(r.Times.At(rows-1)-r.Times.At(0)) * time.Microsecond
}

// AxisOf returns the device and axis of a column.
func (r *Recording) AxisOf(col int) (Device, Axis) {
	c := r.Columns[col]
	d := r.Header.Devices[c.Device]
	return d, d.Axes[c.Axis]
}

// Find returns the column of an axis, given its label or device-id.label. The
// error lists the axes that there are.
func (r *Recording) Find(label string) (int, error) {
	known := make([]string, len(r.Columns))
	for i := range r.Columns {
		d, a := r.AxisOf(i)
		if label == a.Label || label == columnName(d, a) {
			return i, nil
		}
		known[i] = a.Label
	}
	return 0, fmt.Errorf("no axis %q in the recording; its axes are %s", label, strings.Join(known, ", "))
}

// PhaseRanges returns the stretches of one phase that are about the axis with
// this label, in order. A stretch without a label is about every axis; an empty
// label asks for all stretches of the kind.
func (r *Recording) PhaseRanges(kind PhaseKind, label string) []Stretch {
	var found []Stretch
	for _, s := range r.Stretches {
		about := label == "" || s.Phase.Label == "" || s.Phase.Label == label
		if s.Phase.Kind == kind && about {
			found = append(found, s)
		}
	}
	return found
}

// Write writes the recording as a file. What Read returned is written so that
// reading it again gives the same recording, DroppedBytes apart. It reports a
// recording that breaks the format, or the error of w.
func (r *Recording) Write(w io.Writer) error {
	if err := r.checkShape(); err != nil {
		return err
	}
	names := make([]string, len(r.Extra))
	for i, x := range r.Extra {
		names[i] = x.Name
	}
	out, err := NewWriter(w, r.Header, names...)
	if err != nil {
		return err
	}
	if err := r.Each(out.Write); err != nil {
		return err
	}
	for _, c := range r.Comments {
		if c.Row == r.Rows() {
			if err := out.Comment(c.Text); err != nil {
				return err
			}
		}
	}
	return out.Close()
}

// Each gives all rows in order, each with the comments before it, until visit
// returns an error, which it returns. The row's slices are good until the next.
func (r *Recording) Each(visit func(Row) error) error {
	row := Row{
		Counts:  make([]int16, len(r.Columns)),
		Present: make([]bool, len(r.Columns)),
		Extra:   make([]string, len(r.Extra)),
	}
	comments := r.Comments
	for _, s := range r.Stretches {
		for i := s.From; i < s.To; i++ {
			r.fill(&row, i, s.Phase)
			row.Comments = row.Comments[:0]
			for ; len(comments) > 0 && comments[0].Row <= i; comments = comments[1:] {
				row.Comments = append(row.Comments, comments[0].Text)
			}
			if err := visit(row); err != nil {
				return err
			}
		}
	}
	return nil
}

func (r *Recording) fill(row *Row, i int, p Phase) {
	row.AtUS, row.Phase = r.Times.At(i), p
	for c := range r.Columns {
		row.Counts[c], row.Present[c] = r.Columns[c].At(i), r.Columns[c].PresentAt(i)
	}
	for c, x := range r.Extra {
		row.Extra[c] = x.Cells[i]
	}
}

// checkShape sees to it that every slice has one entry a row and that the
// stretches cover the rows, which Write relies on.
func (r *Recording) checkShape() error {
	rows := r.Rows()
	if got, want := len(r.Columns), axisCount(r.Header.Devices); got != want {
		return fmt.Errorf("the recording has %d columns but %d axes; give each axis one column", got, want)
	}
	for i, c := range r.Columns {
		if c.Len() != rows {
			return fmt.Errorf("column %d of the recording has %d counts for %d rows; give it one a row", i, c.Len(), rows)
		}
	}
	for _, x := range r.Extra {
		if len(x.Cells) != rows {
			return fmt.Errorf("extra column %q has %d cells for %d rows; give it one a row", x.Name, len(x.Cells), rows)
		}
	}
	before := 0
	for _, c := range r.Comments {
		if c.Row < before || c.Row > rows {
			return fmt.Errorf("a comment stands before row %d, behind one before row %d of %d; keep comments in the order of the rows",
				c.Row, before, rows)
		}
		before = c.Row
	}
	next := 0
	for _, s := range r.Stretches {
		if s.From != next || s.To < s.From || s.To > rows {
			return fmt.Errorf("the stretch %q goes from row %d to %d where one from row %d was expected; let stretches cover the rows in order",
				s.Phase, s.From, s.To, next)
		}
		next = s.To
	}
	if next != rows {
		return fmt.Errorf("the stretches end at row %d of %d; let them cover all rows", next, rows)
	}
	return nil
}
