package curves

import (
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"unicode/utf8"
)

// maxProfileBytes is far above any profile; it keeps a wrong file from filling
// the memory.
const maxProfileBytes = 8 << 20

// ReadProfile reads a profile file. Name is the file's name for messages. What
// is wrong with the file is reported as a *FieldError.
func ReadProfile(r io.Reader, name string) (*Profile, error) {
	data, err := io.ReadAll(io.LimitReader(r, maxProfileBytes+1))
	if err != nil {
		return nil, fmt.Errorf("%s: cannot be read: %w", name, err)
	}
	return ParseProfile(data, name)
}

// ParseProfile reads a profile from data; see ReadProfile.
func ParseProfile(data []byte, name string) (*Profile, error) {
	p, e := parseProfile(data)
	if e != nil {
		e.File = name
		return nil, e
	}
	return p, nil
}

// UnmarshalJSON reads a profile that stands in another file.
func (p *Profile) UnmarshalJSON(data []byte) error {
	read, e := parseProfile(data)
	if e != nil {
		return e
	}
	*p = *read
	return nil
}

// UnmarshalJSON reads one axis of a profile that stands in another file.
func (a *ProfileAxis) UnmarshalJSON(data []byte) error {
	read, e := parseAxis(data)
	if e == nil {
		e = read.check()
	}
	if e != nil {
		return e
	}
	*a = read
	return nil
}

func parseProfile(data []byte) (*Profile, *FieldError) {
	if len(data) > maxProfileBytes {
		return nil, &FieldError{Found: fmt.Sprintf("over %d bytes", maxProfileBytes), Want: "a profile, which is much smaller"}
	}
	data = bytes.TrimPrefix(data, []byte("\xef\xbb\xbf"))
	if e := checkText(data); e != nil {
		return nil, e
	}
	if e := checkSyntax(data); e != nil {
		return nil, e
	}
	o, e := openObject(data)
	if e != nil {
		return nil, e
	}
	p := &Profile{extras: extras{}}
	if format := o.text("format"); o.err == nil && format != ProfileFormat {
		return nil, &FieldError{Path: "format", Found: quoted(format), Want: quoted(ProfileFormat),
			Remedy: "this file is something else, or from a newer version"}
	}
	items := o.list("axes")
	o.leave(p.extras, "")
	if o.err != nil {
		return nil, o.err
	}
	for i, item := range items {
		axis, e := parseAxis(item)
		if e != nil {
			return nil, e.under(fmt.Sprintf("axes[%d]", i))
		}
		p.Axes = append(p.Axes, axis)
	}
	if e := p.check(); e != nil {
		return nil, e
	}
	return p, nil
}

// parseAxis reads the fields of one axis; whether their values make sense
// together is left to check.
func parseAxis(data []byte) (ProfileAxis, *FieldError) {
	a := ProfileAxis{extras: extras{}}
	o, e := openObject(data)
	if e != nil {
		return a, e
	}
	device := o.object("device")
	a.Device = DeviceRef{Name: device.text("name"), GUID: device.text("guid")}
	o.close(device, a.extras)
	a.Index = o.whole("index")
	a.Label = o.text("label")
	r := &a.Response
	r.Kind = Kind(o.text("kind"))
	oneSided := r.Kind == OneSided
	if e := checkKind(r.Kind); e != nil {
		o.fail(e)
	}
	calibration := o.object("calibration")
	r.Calibration = Calibration{Low: calibration.number("low"), High: calibration.number("high")}
	if !oneSided || calibration.has("centre") {
		r.Calibration.Centre = calibration.number("centre")
	}
	o.close(calibration, a.extras)
	r.Deadband = o.sides("deadband", a.extras, true, !oneSided)
	r.EndMargin = o.sides("end_margin", a.extras, !oneSided, true)
	shape := o.object("shape")
	if !oneSided {
		r.Low = shape.shape("low", a.extras)
	}
	r.High = shape.shape("high", a.extras)
	o.close(shape, a.extras)
	if o.has("reasons") {
		a.Reasons = o.texts("reasons")
	}
	o.leave(a.extras, "")
	if o.err != nil {
		return a, o.err
	}
	return a, nil
}

// sides reads {"low":…,"high":…}; a side that the kind of axis does not need
// may be left out and is 0 then.
func (o *object) sides(key string, keep extras, needLow, needHigh bool) Sides {
	var s Sides
	in := o.object(key)
	if needLow || in.has("low") {
		s.Low = in.number("low")
	}
	if needHigh || in.has("high") {
		s.High = in.number("high")
	}
	o.close(in, keep)
	return s
}

// shape reads one shape; its parameter's range is left to check, its points are
// checked here.
func (o *object) shape(key string, keep extras) Shape {
	in := o.object(key)
	defer o.close(in, keep)
	switch kind := in.text("kind"); kind {
	case "straight":
		return Straight{}
	case "power":
		return Power{in.number("exponent")}
	case "blend":
		return Blend{in.number("share")}
	case "points":
		p, e := newPoints(in.pairs("points"))
		if e != nil {
			in.fail(e)
			return nil
		}
		return p
	default:
		in.fail(&FieldError{Path: "kind", Found: quoted(kind), Want: `"straight", "power", "blend" or "points"`})
		return nil
	}
}

// checkText refuses what the JSON reader would quietly change: bytes that are
// no text.
func checkText(data []byte) *FieldError {
	if utf8.Valid(data) {
		return nil
	}
	line := 1
	for rest := data; ; line++ {
		before, after, more := bytes.Cut(rest, []byte("\n"))
		if !utf8.Valid(before) || !more {
			return &FieldError{Line: line, Column: 1, Found: "not text in UTF-8", Want: "a profile in JSON", Remedy: "save the file as UTF-8"}
		}
		rest = after
	}
}

// checkSyntax reports where the text stops being JSON.
func checkSyntax(data []byte) *FieldError {
	if len(bytes.TrimSpace(data)) == 0 {
		return &FieldError{Found: "empty", Want: "a profile in JSON", Remedy: "propose writes one from a recording"}
	}
	var any json.RawMessage
	err := json.Unmarshal(data, &any)
	if err == nil {
		return nil
	}
	e := &FieldError{Found: "not JSON (" + err.Error() + ")", Want: "a profile in JSON"}
	if syntax, ok := err.(*json.SyntaxError); ok {
		e.Line, e.Column = lineAndColumn(data, syntax.Offset)
	}
	return e
}

// lineAndColumn turns the number of bytes read up to and with the wrong one
// into its line and column, both from 1, the column in characters.
func lineAndColumn(data []byte, read int64) (line, column int) {
	before := data[:max(0, min(int(read)-1, len(data)))]
	line = 1 + bytes.Count(before, []byte("\n"))
	start := bytes.LastIndexByte(before, '\n') + 1
	return line, 1 + len(bytes.Runes(before[start:]))
}

// maxIndex bounds an axis's index; no device has more.
const maxIndex = math.MaxInt16
