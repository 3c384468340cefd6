package curves

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"slices"
)

// Write writes the profile file. A profile that its Check refuses is not
// written at all.
func (p *Profile) Write(w io.Writer) error {
	if err := p.Check(); err != nil {
		return fmt.Errorf("profile not written: %w", err)
	}
	compact, err := p.MarshalJSON()
	if err != nil {
		return err
	}
	_, err = w.Write(layOut(compact))
	return err
}

// MarshalJSON gives the profile as one line of JSON.
func (p Profile) MarshalJSON() ([]byte, error) {
	axes := make([]json.RawMessage, len(p.Axes))
	for i := range p.Axes {
		data, err := p.Axes[i].MarshalJSON()
		if err != nil {
			return nil, fmt.Errorf("axes[%d]: %w", i, err)
		}
		axes[i] = data
	}
	return fields{{"format", ProfileFormat}, {"axes", axes}}.with(p.extras[""])
}

// MarshalJSON gives the axis as one line of JSON, as it stands in a profile.
func (a ProfileAxis) MarshalJSON() ([]byte, error) {
	r := a.Response
	build := objectBuilder{extras: a.extras}
	calibration := fields{{"low", r.Calibration.Low}, {"centre", r.Calibration.Centre}, {"high", r.Calibration.High}}
	var shapes fields
	if r.Kind == OneSided {
		if r.Calibration.Centre == 0 { // not used; kept only where it was given
			calibration = slices.Delete(calibration, 1, 2)
		}
	} else {
		shapes = fields{{"low", build.shape("shape.low", r.Low)}}
	}
	shapes = append(shapes, field{"high", build.shape("shape.high", r.High)})
	all := fields{
		{"device", build.object("device", fields{{"name", a.Device.Name}, {"guid", a.Device.GUID}})},
		{"index", a.Index},
		{"label", a.Label},
		{"kind", string(r.Kind)},
		{"calibration", build.object("calibration", calibration)},
		{"deadband", build.sides("deadband", r.Deadband)},
		{"end_margin", build.sides("end_margin", r.EndMargin)},
		{"shape", build.object("shape", shapes)},
	}
	if a.Reasons != nil {
		all = append(all, field{"reasons", a.Reasons})
	}
	data := build.object("", all)
	return data, build.err
}

// objectBuilder writes the objects of an axis with their unknown fields.
type objectBuilder struct {
	extras extras
	err    error
}

func (b *objectBuilder) object(path string, known fields) json.RawMessage {
	data, err := known.with(b.extras[path])
	if err != nil && b.err == nil {
		b.err = err
	}
	return data
}

func (b *objectBuilder) sides(path string, s Sides) json.RawMessage {
	return b.object(path, fields{{"low", s.Low}, {"high", s.High}})
}

func (b *objectBuilder) shape(path string, s Shape) json.RawMessage {
	var parameter fields
	switch s := s.(type) {
	case Straight:
	case Power:
		parameter = fields{{"exponent", s.Exponent}}
	case Blend:
		parameter = fields{{"share", s.Share}}
	case *Points:
		parameter = fields{{"points", s.Nodes()}}
	default:
		if b.err == nil {
			b.err = &FieldError{Path: path, Found: fmt.Sprintf("%T", s), Want: "straight, power, blend or points",
				Remedy: "other shapes cannot be written to a profile"}
		}
		return json.RawMessage("null")
	}
	return b.object(path, append(fields{{"kind", s.Name()}}, parameter...))
}

// fields is a JSON object with its fields in order.
type fields []field

type field struct {
	key   string
	value any
}

// with writes the object, with the unknown fields after the known ones in
// order of their names; a known name among them gives way.
func (f fields) with(unknown map[string]json.RawMessage) (json.RawMessage, error) {
	all := slices.Clone(f)
	for _, key := range slices.Sorted(maps.Keys(unknown)) {
		if !slices.ContainsFunc(f, func(k field) bool { return k.key == key }) {
			all = append(all, field{key, unknown[key]})
		}
	}
	var b bytes.Buffer
	b.WriteByte('{')
	for i, field := range all {
		if i > 0 {
			b.WriteByte(',')
		}
		for j, part := range []any{field.key, field.value} {
			data, err := encode(part)
			if err != nil {
				return nil, fmt.Errorf("%s: cannot be written: %w", field.key, err)
			}
			b.Write(data)
			if j == 0 {
				b.WriteByte(':')
			}
		}
	}
	b.WriteByte('}')
	return b.Bytes(), nil
}

// encode is json.Marshal without its escapes for web pages.
func encode(value any) ([]byte, error) {
	if raw, ok := value.(json.RawMessage); ok {
		return raw, nil
	}
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	if err := enc.Encode(value); err != nil {
		return nil, err
	}
	return bytes.TrimRight(b.Bytes(), "\n"), nil
}
