package curves

import "bytes"

// Widths of a laid-out file: containers up to lineWidth long stay on a line, and
// so does whatever is nested deeper than maxOpenDepth.
const (
	lineWidth    = 100
	maxOpenDepth = 16
)

// layOut puts JSON that is on one line on several, so that a person can read
// and edit it.
func layOut(compact []byte) []byte {
	var b bytes.Buffer
	layOutValue(&b, compact, 0)
	b.WriteByte('\n')
	return b.Bytes()
}

func layOutValue(b *bytes.Buffer, value []byte, depth int) {
	opens := len(value) > lineWidth && depth < maxOpenDepth && (value[0] == '{' || value[0] == '[')
	if !opens {
		b.Write(value)
		return
	}
	b.WriteByte(value[0])
	for i, item := range splitItems(value[1 : len(value)-1]) {
		if i > 0 {
			b.WriteByte(',')
		}
		newLine(b, depth+1)
		if value[0] == '{' {
			key := endOfString(item) + 1 // with the colon
			b.Write(item[:key])
			b.WriteByte(' ')
			item = item[key:]
		}
		layOutValue(b, item, depth+1)
	}
	newLine(b, depth)
	b.WriteByte(value[len(value)-1])
}

func newLine(b *bytes.Buffer, depth int) {
	b.WriteByte('\n')
	for range depth {
		b.WriteByte(' ')
	}
}

// splitItems cuts the inside of a container at its own commas.
func splitItems(inside []byte) [][]byte {
	var items [][]byte
	depth, start := 0, 0
	for i := 0; i < len(inside); i++ {
		switch inside[i] {
		case '"':
			i += endOfString(inside[i:]) - 1
		case '{', '[':
			depth++
		case '}', ']':
			depth--
		case ',':
			if depth == 0 {
				items = append(items, inside[start:i])
				start = i + 1
			}
		}
	}
	return append(items, inside[start:])
}

// endOfString returns the length of the JSON string that data starts with.
func endOfString(data []byte) int {
	for i := 1; i < len(data); i++ {
		switch data[i] {
		case '\\':
			i++
		case '"':
			return i + 1
		}
	}
	return len(data)
}
