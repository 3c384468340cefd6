package shape

import (
	"reflect"

	"halfstick/curves"
)

// Side names a side of a response.
type Side string

// The sides; a one-sided axis has High alone, and Both stands for one shape on
// both sides.
const (
	Low  Side = "low"
	High Side = "high"
	Both Side = "both"
)

// Apart tells whether the sides have shapes of their own.
func Apart(r *curves.Response) bool {
	return r.Kind == curves.TwoSided && !reflect.DeepEqual(r.Low, r.High)
}

// shapes are the sides that have a shape to be changed on its own.
func shapes(r *curves.Response) []Side {
	if Apart(r) {
		return []Side{Low, High}
	}
	return []Side{Both}
}

// everySide are the sides that a handle or a field may name. One of a side by
// itself is known even while both sides happen to be equal, so that a drag may
// pass through there.
func everySide(r *curves.Response) []Side {
	if r.Kind == curves.OneSided {
		return []Side{Both}
	}
	return []Side{Both, Low, High}
}

// of is the shape of a side.
func of(r *curves.Response, side Side) curves.Shape {
	if side == Low {
		return r.Low
	}
	return r.High
}

// put gives a side a shape.
func put(r *curves.Response, side Side, s curves.Shape) {
	if r.Kind == curves.OneSided {
		r.High = s
		return
	}
	if side != High {
		r.Low = s
	}
	if side != Low {
		r.High = s
	}
}

// sign is the direction of a side in u.
func sign(side Side) float64 {
	if side == Low {
		return -1
	}
	return 1
}

// stretch is where the shaped part of a side begins and ends, in |u|.
func stretch(r *curves.Response, side Side) (from, to float64) {
	switch {
	case r.Kind == curves.OneSided:
		return r.Deadband.Low, 1 - r.EndMargin.High
	case side == Low:
		return r.Deadband.Low, 1 - r.EndMargin.Low
	}
	return r.Deadband.High, 1 - r.EndMargin.High
}
