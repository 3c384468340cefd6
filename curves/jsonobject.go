package curves

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"strconv"
)

// object is a JSON object being read. The first thing wrong is kept in err and
// later reads give zero values, so that a reader need not stop after each.
type object struct {
	path   string // below the outermost object opened
	fields map[string]json.RawMessage
	err    *FieldError
}

// openObject splits an object, already known to be JSON, into its fields. A
// field that stands there twice is an error: either could be the one meant.
func openObject(data []byte) (*object, *FieldError) {
	dec := json.NewDecoder(bytes.NewReader(data))
	if token, err := dec.Token(); err != nil || token != json.Delim('{') {
		return nil, &FieldError{Found: describe(data), Want: "an object"}
	}
	o := &object{fields: map[string]json.RawMessage{}}
	for dec.More() {
		key, err := dec.Token()
		name, ok := key.(string)
		var value json.RawMessage
		if err == nil && ok {
			err = dec.Decode(&value)
		}
		if err != nil || !ok {
			return nil, &FieldError{Found: "not JSON", Want: "an object"}
		}
		if _, twice := o.fields[name]; twice {
			return nil, &FieldError{Path: name, Found: "there twice", Want: "once", Remedy: "remove one of the two"}
		}
		o.fields[name] = value
	}
	return o, nil
}

func (o *object) fail(e *FieldError) {
	if o.err == nil {
		o.err = e
	}
}

func (o *object) has(key string) bool {
	_, ok := o.fields[key]
	return ok
}

// take removes a field and returns it; missing is an error.
func (o *object) take(key, want string) (json.RawMessage, bool) {
	value, ok := o.fields[key]
	if !ok {
		o.fail(&FieldError{Path: key, Found: "missing", Want: want})
		return nil, false
	}
	delete(o.fields, key)
	return value, true
}

func (o *object) text(key string) string {
	const want = "a text"
	value, ok := o.take(key, want)
	if !ok {
		return ""
	}
	s, ok := asText(value)
	if !ok {
		o.fail(&FieldError{Path: key, Found: describe(value), Want: want})
	}
	return s
}

func (o *object) number(key string) float64 {
	const want = "a number"
	value, ok := o.take(key, want)
	if !ok {
		return 0
	}
	x, ok := asNumber(value)
	if !ok {
		o.fail(&FieldError{Path: key, Found: describe(value), Want: want})
	}
	return x
}

// whole reads an index.
func (o *object) whole(key string) int {
	x := o.number(key)
	if x != math.Trunc(x) || x < 0 || x > maxIndex {
		o.fail(&FieldError{Path: key, Found: number(x), Want: "a whole number from 0"})
		return 0
	}
	return int(x)
}

func (o *object) list(key string) []json.RawMessage {
	const want = "a list"
	value, ok := o.take(key, want)
	if !ok {
		return nil
	}
	items, ok := asList(value)
	if !ok {
		o.fail(&FieldError{Path: key, Found: describe(value), Want: want})
	}
	return items
}

func (o *object) texts(key string) []string {
	items := o.list(key)
	texts := make([]string, len(items))
	for i, item := range items {
		var ok bool
		if texts[i], ok = asText(item); !ok {
			o.fail(&FieldError{Path: fmt.Sprintf("%s[%d]", key, i), Found: describe(item), Want: "a text"})
		}
	}
	return texts
}

// pairs reads [[v,y],…].
func (o *object) pairs(key string) [][2]float64 {
	items := o.list(key)
	pairs := make([][2]float64, len(items))
	for i, item := range items {
		numbers, ok := asList(item)
		ok = ok && len(numbers) == 2
		for j := 0; ok && j < 2; j++ {
			pairs[i][j], ok = asNumber(numbers[j])
		}
		if !ok {
			o.fail(&FieldError{Path: fmt.Sprintf("%s[%d]", key, i), Found: describe(item), Want: "two numbers, [position, command]"})
		}
	}
	return pairs
}

// object opens a field that is an object. It never returns nil: after an error
// the caller reads zero values from an empty one.
func (o *object) object(key string) *object {
	inner := &object{fields: map[string]json.RawMessage{}}
	if value, ok := o.take(key, "an object"); ok {
		opened, e := openObject(value)
		if e != nil {
			o.fail(e.under(key))
		} else {
			inner = opened
		}
	}
	inner.path = key
	if o.path != "" {
		inner.path = o.path + "." + key
	}
	return inner
}

// close ends the reading of an inner object: its error becomes the outer one's
// and what is left in it is kept.
func (o *object) close(inner *object, keep extras) {
	key := inner.path[len(o.path):]
	if o.path != "" {
		key = key[1:]
	}
	if inner.err != nil {
		o.fail(inner.err.under(key))
	}
	inner.leave(keep, inner.path)
}

// leave keeps the fields that nobody has taken.
func (o *object) leave(keep extras, path string) {
	if len(o.fields) == 0 {
		return
	}
	for key, value := range o.fields {
		var tight bytes.Buffer
		if json.Compact(&tight, value) == nil {
			o.fields[key] = tight.Bytes()
		}
	}
	keep[path] = o.fields
}

func asText(data []byte) (string, bool) {
	var s *string
	err := json.Unmarshal(data, &s)
	if err != nil || s == nil {
		return "", false
	}
	return *s, true
}

func asNumber(data []byte) (float64, bool) {
	x, err := strconv.ParseFloat(string(bytes.TrimSpace(data)), 64)
	return x, err == nil && !math.IsInf(x, 0) && !math.IsNaN(x)
}

func asList(data []byte) ([]json.RawMessage, bool) {
	var items []json.RawMessage
	err := json.Unmarshal(data, &items)
	return items, err == nil && items != nil
}

// describe shows a JSON value in a message, cut where it is long.
func describe(data []byte) string {
	const most = 40
	var tight bytes.Buffer
	if json.Compact(&tight, data) != nil {
		return "not JSON"
	}
	if runes := bytes.Runes(tight.Bytes()); len(runes) > most {
		return string(runes[:most]) + "…"
	}
	return tight.String()
}
