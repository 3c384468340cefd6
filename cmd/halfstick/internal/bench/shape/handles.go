package shape

import (
	"fmt"
	"strings"

	"halfstick/cmd/halfstick/internal/text"
	"halfstick/curves"
)

// Handle is a place on the curve that can be taken hold of.
type Handle struct {
	ID    string `json:"id"`
	Label string `json:"label"`
	Value string `json:"value"` // as it is read out
	// U and Y are where it lies, −1…1 or 0…1.
	U float64 `json:"-"`
	Y float64 `json:"-"`
	// Axes says which way it moves: "x", "y" or "xy".
	Axes string `json:"axes"`
	// Point tells that it can be taken away.
	Point bool `json:"point,omitempty"`
}

// Handles are those of a response, from left to right as the Tab key goes.
func Handles(r *curves.Response) []Handle {
	if r.Kind == curves.OneSided {
		out := []Handle{corner(r, "deadband", High, r.Deadband.Low, 0)}
		out = append(out, shapeHandles(r, Both)...)
		return append(out, corner(r, "margin", High, 1-r.EndMargin.High, 1))
	}
	out := []Handle{corner(r, "margin-low", Low, 1-r.EndMargin.Low, 1)}
	if Apart(r) {
		out = append(out, shapeHandles(r, Low)...)
	}
	out = append(out, corner(r, "deadband-low", Low, r.Deadband.Low, 0), corner(r, "deadband-high", High, r.Deadband.High, 0))
	if Apart(r) {
		out = append(out, shapeHandles(r, High)...)
	} else {
		out = append(out, shapeHandles(r, Both)...)
	}
	return append(out, corner(r, "margin-high", High, 1-r.EndMargin.High, 1))
}

// corner is a handle where deadband or end margin meet the curve. Its id is
// that of the field.
func corner(r *curves.Response, id string, side Side, u, y float64) Handle {
	h := Handle{ID: id, U: sign(side) * u, Y: sign(side) * y, Axes: "x"}
	for _, f := range Fields(r) {
		if f.ID == id {
			h.Label, h.Value = f.Label, f.Value+" "+f.Unit
		}
	}
	return h
}

// shapeHandles are those of one side's shape.
func shapeHandles(r *curves.Response, side Side) []Handle {
	id, label := suffix(side)
	from, to := stretch(r, side)
	at := func(v, y float64) (u, command float64) {
		return sign(side) * (from + v*(to-from)), sign(side) * y
	}
	switch s := of(r, side).(type) {
	case curves.Power, curves.Blend:
		h := Handle{ID: "bend" + id, Axes: "y"}
		h.U, h.Y = at(middle, s.At(middle))
		f := shapeFields(r, side)[0]
		h.Label, h.Value = f.Label, text.Number(f.get(r), 2)
		return []Handle{h}
	case *curves.Points:
		var out []Handle
		nodes := s.Nodes()
		for i := 1; i < len(nodes)-1; i++ {
			h := Handle{ID: fmt.Sprintf("point-%d%s", i, id), Label: fmt.Sprintf("point %d%s", i, label), Axes: "xy", Point: true}
			h.U, h.Y = at(nodes[i][0], nodes[i][1])
			h.Value = fmt.Sprintf("position %s, command %s", text.Percent(nodes[i][0]), text.Percent(nodes[i][1]))
			out = append(out, h)
		}
		return out
	}
	return nil
}

// pointOf finds the side and the number of a point by its handle.
func pointOf(r *curves.Response, handle string) (side Side, i int, ok bool) {
	for _, side := range everySide(r) {
		for n, h := range shapeHandles(r, side) {
			if h.Point && h.ID == handle {
				return side, n + 1, true
			}
		}
	}
	return "", 0, false
}

// Move takes a handle to a position u and a command y.
func Move(r *curves.Response, handle string, u, y float64) error {
	side := High
	if strings.HasSuffix(handle, "-low") {
		side = Low
	}
	u, y = sign(side)*u, sign(side)*y // on the side's own scale
	switch strings.TrimSuffix(strings.TrimSuffix(handle, "-low"), "-high") {
	case "deadband":
		*deadband(r, side) = held(u, 0, mostDeadband, fineU)
		return nil
	case "margin":
		*margin(r, side) = held(1-u, 0, mostMargin, fineU)
		return nil
	}
	for _, of := range everySide(r) {
		for _, h := range shapeHandles(r, of) {
			if h.ID == handle {
				moveShape(r, of, h, u, y)
				return nil
			}
		}
	}
	return fmt.Errorf("this response has no handle %q; load the page anew", handle)
}

func deadband(r *curves.Response, side Side) *float64 {
	if side == Low || r.Kind == curves.OneSided {
		return &r.Deadband.Low
	}
	return &r.Deadband.High
}

func margin(r *curves.Response, side Side) *float64 {
	if side == Low && r.Kind == curves.TwoSided {
		return &r.EndMargin.Low
	}
	return &r.EndMargin.High
}

// moveShape takes a handle of a shape to |u| and |y|.
func moveShape(r *curves.Response, side Side, h Handle, u, y float64) {
	switch s := of(r, side).(type) {
	case curves.Power:
		s.Exponent = held(exponentThrough(middle, y), leastExponent, mostExponent, fineExponent)
		put(r, side, s)
	case curves.Blend:
		s.Share = held(shareThrough(middle, y), leastShare, mostShare, fineShare)
		put(r, side, s)
	case *curves.Points:
		from, to := stretch(r, side)
		if _, i, ok := pointOf(r, h.ID); ok {
			movePoint(r, side, i, [2]float64{(u - from) / (to - from), y})
		}
	}
}

// Nudge moves a handle by steps of a thousandth of the throw to the right and
// up, as an arrow key does. A handle of a shape goes at least one of its own
// finest steps.
func Nudge(r *curves.Response, handle string, right, up float64) error {
	const step = 1e-3
	for _, h := range Handles(r) {
		if h.ID != handle {
			continue
		}
		before := *r
		if err := Move(r, handle, h.U+step*right, h.Y+step*up); err != nil {
			return err
		}
		if up != 0 && h.Axes == "y" && sameParameter(&before, r) {
			return Move(r, handle, h.U, h.Y+4*step*up)
		}
		return nil
	}
	return fmt.Errorf("this response has no handle %q; load the page anew", handle)
}

func sameParameter(a, b *curves.Response) bool { return a.Low == b.Low && a.High == b.High }
