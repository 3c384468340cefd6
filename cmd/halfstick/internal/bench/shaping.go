package bench

import (
	"fmt"
	"net/http"

	"halfstick/cmd/halfstick/internal/bench/shape"
	"halfstick/curves"
)

// shapeWish is what a hand does on the page. Do names it; the rest depends.
type shapeWish struct {
	Do string `json:"do"`
	// Gesture is the same for all moves of one drag; see session.Change.
	Gesture string  `json:"gesture,omitempty"`
	Handle  string  `json:"handle,omitempty"`
	X       float64 `json:"x,omitempty"` // on the paper, in its units
	Y       float64 `json:"y,omitempty"`
	Right   float64 `json:"right,omitempty"` // key presses
	Up      float64 `json:"up,omitempty"`
	Field   string  `json:"field,omitempty"`
	Text    string  `json:"text,omitempty"` // of a field, or a name
	Kind    string  `json:"kind,omitempty"`
	Apart   bool    `json:"apart,omitempty"`
	Chosen  int     `json:"chosen,omitempty"`
}

// mostNudge bounds how far one key press goes, in steps.
const mostNudge = 100

// changeShape does what a hand does, and answers with how things stand then.
func (b *Bench) changeShape(x *analysedAxis, r *http.Request) (any, error) {
	var wish shapeWish
	if err := read(r, &wish); err != nil {
		return nil, err
	}
	if err := b.doShape(x, wish); err != nil {
		return nil, err
	}
	return b.shapeOf(x)
}

func (b *Bench) doShape(x *analysedAxis, wish shapeWish) error {
	label := x.label()
	change := func(f func(*curves.Response) error) error { return b.changeResponse(x, wish.Gesture, f) }
	switch wish.Do {
	case "move":
		u, y := x.areas[0].Value(wish.X, wish.Y)
		return change(func(r *curves.Response) error { return shape.Move(r, wish.Handle, u/100, y/100) })
	case "nudge":
		held := func(v float64) float64 { return min(max(v, -mostNudge), mostNudge) }
		return change(func(r *curves.Response) error {
			return shape.Nudge(r, wish.Handle, held(wish.Right), held(wish.Up))
		})
	case "set":
		return change(func(r *curves.Response) error { return shape.Set(r, wish.Field, wish.Text) })
	case "kind":
		return change(func(r *curves.Response) error { return shape.SetKind(r, wish.Kind) })
	case "apart":
		return change(func(r *curves.Response) error { return shape.SetApart(r, wish.Apart) })
	case "add-point":
		return change(shape.AddPoint)
	case "remove-point":
		return change(func(r *curves.Response) error { return shape.RemovePoint(r, wish.Handle) })
	case "undo":
		return b.changed(b.session.Undo(label))
	case "redo":
		return b.changed(b.session.Redo(label))
	case "choose":
		return b.changed(b.session.Choose(label, wish.Chosen))
	case "copy":
		return b.copyCandidate(x)
	case "remove":
		return b.removeCandidate(x)
	case "name":
		return b.renameCandidate(x, wish.Text)
	}
	return fmt.Errorf("the bench cannot %q; load the page anew", wish.Do)
}
