package input

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
)

// ErrOtherAxes says that recordings are not of the same axes.
var ErrOtherAxes = errors.New("only recordings of the same devices, with the same labels, can be taken together")

// Join puts recordings of the same devices one after another, so that sweeps,
// rest and flight recorded apart can be measured together. Times go on by one
// sampling period from one recording to the next; names (one a recording) are
// used in errors. Columns may stand in another order, but the devices, axes
// and kinds must be the same, and the flights must have been flown with the
// same profile; other axes give an ErrOtherAxes. The recordings themselves are left alone; extra columns are
// not carried over.
func Join(recordings []*Recording, names []string) (*Recording, error) {
	if len(recordings) == 0 {
		return nil, errors.New("no recording to measure; name at least one")
	}
	if len(recordings) == 1 {
		return recordings[0], nil
	}
	first := recordings[0]
	joined := &Recording{Header: first.Header, Columns: make([]Column, len(first.Columns))}
	for c, column := range first.Columns {
		joined.Columns[c] = Column{Device: column.Device, Axis: column.Axis}
	}
	flown, err := flownWith(recordings, names)
	if err != nil {
		return nil, err
	}
	joined.Header.FlownWith = flown
	for i, rec := range recordings {
		from, err := matchColumns(first, rec, names[0], names[i])
		if err != nil {
			return nil, err
		}
		joined.append(rec, from)
		joined.DroppedBytes += rec.DroppedBytes
	}
	return joined, nil
}

// append adds the rows of rec; from[c] is rec's column for column c.
func (r *Recording) append(rec *Recording, from []int) {
	rows := r.Rows()
	var offset int64
	if rows > 0 && rec.Rows() > 0 {
		period := max(1, int64(1e6/max(rec.Header.RateHz, 1)))
		offset = r.Times.At(rows-1) + period - rec.Times.At(0)
	}
	for _, at := range rec.Times.All() {
		r.Times.Append(at + offset)
	}
	for _, c := range rec.Comments {
		r.Comments = append(r.Comments, Comment{Row: c.Row + rows, Text: c.Text})
	}
	for _, s := range rec.Stretches {
		r.Stretches = append(r.Stretches, Stretch{Phase: s.Phase, From: s.From + rows, To: s.To + rows})
	}
	for c := range r.Columns {
		other := &rec.Columns[from[c]]
		r.Columns[c].join(other.Len(), other.counts.lists(), other.there.lists())
	}
}

func matchColumns(first, rec *Recording, firstName, name string) ([]int, error) {
	if len(rec.Columns) != len(first.Columns) {
		return nil, fmt.Errorf("%s has %d axes and %s has %d; %w",
			firstName, len(first.Columns), name, len(rec.Columns), ErrOtherAxes)
	}
	from := make([]int, len(first.Columns))
	for c := range first.Columns {
		device, axis := first.AxisOf(c)
		match := -1
		for k := range rec.Columns {
			d, a := rec.AxisOf(k)
			if d.ID == device.ID && d.GUID == device.GUID && a.Label == axis.Label && a.Kind == axis.Kind {
				match = k
			}
		}
		if match < 0 {
			return nil, fmt.Errorf("%s has no %s axis %s.%s of the same device as %s; %w",
				name, axis.Kind, device.ID, axis.Label, firstName, ErrOtherAxes)
		}
		from[c] = match
	}
	return from, nil
}

// flownWith returns the profile that the flights were flown with, nil for
// straight-through or no flight.
func flownWith(recordings []*Recording, names []string) (json.RawMessage, error) {
	found := -1
	for i, rec := range recordings {
		if !rec.hasFlight() {
			continue
		}
		if found >= 0 && !bytes.Equal(compact(rec.Header.FlownWith), compact(recordings[found].Header.FlownWith)) {
			return nil, fmt.Errorf("%s and %s were flown with different profiles; take one of them at a time", names[found], names[i])
		}
		found = i
	}
	if found < 0 {
		return nil, nil
	}
	return recordings[found].Header.FlownWith, nil
}

func (r *Recording) hasFlight() bool {
	for _, s := range r.Stretches {
		if s.Phase.Kind == Flight {
			return true
		}
	}
	return false
}
