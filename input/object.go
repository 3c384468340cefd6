package input

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
)

// object is a JSON object whose fields are taken one by one, so that an error
// knows its path and what nobody took is left over as unknown.
type object struct {
	path   string
	fields map[string]json.RawMessage
	bad    *problem // the first problem met
}

type need bool

const (
	required need = true
	optional need = false
)

func parseObject(text []byte, path string) (*object, *problem) {
	o := &object{path: path}
	if err := json.Unmarshal(text, &o.fields); err != nil {
		found := show(text)
		if at := new(json.SyntaxError); errors.As(err, &at) {
			found = fmt.Sprintf("at byte %d of it: %v", at.Offset, err)
		}
		return nil, &problem{path, "a JSON object", found, "correct the header line"}
	}
	if o.fields == nil { // JSON null
		return nil, &problem{path, "a JSON object", "null", "correct the header line"}
	}
	return o, nil
}

// note keeps the first problem.
func (o *object) note(bad *problem) {
	if o.bad == nil {
		o.bad = bad
	}
}

// pop takes a field out; null counts as absent.
func (o *object) pop(name string) (json.RawMessage, bool) {
	raw, ok := o.fields[name]
	delete(o.fields, name)
	return raw, ok && string(raw) != "null"
}

// take decodes a field into the value that into points at.
func (o *object) take(name, want string, must need, into any) {
	raw, ok := o.pop(name)
	if !ok {
		if must {
			o.note(&problem{o.join(name), want, "nothing", "add this field to the header line"})
		}
		return
	}
	if err := json.Unmarshal(raw, into); err != nil {
		o.note(&problem{o.join(name), want, show(raw), headerRemedy})
	}
}

// takeRaw keeps a field as it came, without insignificant space.
func (o *object) takeRaw(name string, into *json.RawMessage) {
	if raw, ok := o.pop(name); ok {
		*into = compact(raw)
	}
}

func (o *object) takeList(name, want string) []json.RawMessage {
	var list []json.RawMessage
	o.take(name, want, required, &list)
	return list
}

// rest returns the fields that nobody took; nil if there are none.
func (o *object) rest() map[string]json.RawMessage {
	if len(o.fields) == 0 {
		return nil
	}
	for name, raw := range o.fields {
		o.fields[name] = compact(raw)
	}
	return o.fields
}

func (o *object) join(name string) string {
	if o.path == "" {
		return name
	}
	return o.path + "." + name
}

// compact drops insignificant space. raw has been parsed before, so it cannot
// fail.
func compact(raw json.RawMessage) json.RawMessage {
	var b bytes.Buffer
	if err := json.Compact(&b, raw); err != nil {
		return raw
	}
	return b.Bytes()
}
