package shape

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"halfstick/curves"
)

// Field is a number of a response that can be typed.
type Field struct {
	ID    string  `json:"id"`
	Label string  `json:"label"`
	Unit  string  `json:"unit"` // as the person reads it, empty for a bare number
	Value string  `json:"value"`
	Min   float64 `json:"min"`
	Max   float64 `json:"max"`
	Step  float64 `json:"step"`

	get func(*curves.Response) float64
	set func(*curves.Response, float64)
}

// Fields are the numbers of a response, in the order in which they are read.
func Fields(r *curves.Response) []Field {
	out := bandFields(r)
	for _, side := range shapes(r) {
		out = append(out, shapeFields(r, side)...)
	}
	for i := range out {
		f := &out[i]
		f.Value = strconv.FormatFloat(f.get(r), 'f', decimals(f.Step), 64)
	}
	return out
}

// bandFields are those of deadband and end margin.
func bandFields(r *curves.Response) []Field {
	if r.Kind == curves.OneSided {
		return []Field{
			share("deadband", "deadband at the idle stop", mostDeadband, func(r *curves.Response) *float64 { return &r.Deadband.Low }),
			share("margin", "end margin", mostMargin, func(r *curves.Response) *float64 { return &r.EndMargin.High }),
		}
	}
	return []Field{
		share("deadband-low", "deadband, low side", mostDeadband, func(r *curves.Response) *float64 { return &r.Deadband.Low }),
		share("deadband-high", "deadband, high side", mostDeadband, func(r *curves.Response) *float64 { return &r.Deadband.High }),
		share("margin-low", "end margin, low side", mostMargin, func(r *curves.Response) *float64 { return &r.EndMargin.Low }),
		share("margin-high", "end margin, high side", mostMargin, func(r *curves.Response) *float64 { return &r.EndMargin.High }),
	}
}

// share is a field in percent of the throw.
func share(id, label string, most float64, at func(*curves.Response) *float64) Field {
	return Field{
		ID: id, Label: label, Unit: "%", Min: 0, Max: 100 * most, Step: 100 * fineU,
		get: func(r *curves.Response) float64 { return 100 * *at(r) },
		set: func(r *curves.Response, v float64) { *at(r) = held(v/100, 0, most, fineU) },
	}
}

// shapeFields are those of one side's shape.
func shapeFields(r *curves.Response, side Side) []Field {
	id, label := suffix(side)
	switch s := of(r, side).(type) {
	case curves.Power:
		return []Field{{
			ID: "exponent" + id, Label: "exponent" + label, Min: leastExponent, Max: mostExponent, Step: fineExponent,
			get: func(*curves.Response) float64 { return s.Exponent },
			set: func(r *curves.Response, v float64) {
				put(r, side, curves.Power{Exponent: held(v, leastExponent, mostExponent, fineExponent)})
			},
		}}
	case curves.Blend:
		return []Field{{
			ID: "share" + id, Label: "share of the cubic blend" + label, Min: leastShare, Max: mostShare, Step: fineShare,
			get: func(*curves.Response) float64 { return s.Share },
			set: func(r *curves.Response, v float64) {
				put(r, side, curves.Blend{Share: held(v, leastShare, mostShare, fineShare)})
			},
		}}
	case *curves.Points:
		return pointFields(s, side)
	}
	return nil
}

// pointFields are position and command of every inner point.
func pointFields(s *curves.Points, side Side) []Field {
	id, label := suffix(side)
	var out []Field
	nodes := s.Nodes()
	for i := 1; i < len(nodes)-1; i++ {
		for c, name := range []string{"position", "command"} {
			out = append(out, Field{
				ID:    fmt.Sprintf("point-%d-%s%s", i, name, id),
				Label: fmt.Sprintf("point %d, %s%s", i, name, label), Unit: "%",
				Min: 0, Max: 100, Step: 100 * finePoint,
				get: func(*curves.Response) float64 { return 100 * nodes[i][c] },
				set: func(r *curves.Response, v float64) {
					to := nodes[i]
					to[c] = v / 100
					movePoint(r, side, i, to)
				},
			})
		}
	}
	return out
}

func suffix(side Side) (id, label string) {
	if side == Both {
		return "", ""
	}
	return "-" + string(side), ", " + string(side) + " side"
}

func decimals(step float64) int { return max(0, -int(math.Floor(math.Log10(step)+1e-9))) }

// Set gives a field a typed value; a decimal comma will do.
func Set(r *curves.Response, id, text string) error {
	fields := bandFields(r)
	for _, side := range everySide(r) {
		fields = append(fields, shapeFields(r, side)...)
	}
	for _, f := range fields {
		if f.ID != id {
			continue
		}
		text = strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(text), "%"))
		v, err := strconv.ParseFloat(strings.Replace(text, ",", ".", 1), 64)
		if err != nil || math.IsInf(v, 0) || math.IsNaN(v) {
			return fmt.Errorf("%s: %q is no number; write one from %g to %g", f.Label, text, f.Min, f.Max)
		}
		f.set(r, v)
		return nil
	}
	return fmt.Errorf("this response has no %q; load the page anew", id)
}
