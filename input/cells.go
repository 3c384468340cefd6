package input

import "bytes"

// splitter cuts one record into cells by RFC 4180. Its cells are good until
// the next record.
type splitter struct {
	cells [][]byte
	plain []byte // holds quoted cells whose doubled quotes were resolved
}

// notOpen is the number of no cell: no quotes are open.
const notOpen = -1

// split cuts line, which has no line end. If the line ends inside a quoted
// cell, open is that cell's number, else notOpen.
func (s *splitter) split(line []byte) (open int, bad *problem) {
	s.cells, s.plain = s.cells[:0], s.plain[:0]
	if bytes.IndexByte(line, '"') < 0 {
		s.splitPlain(line)
		return notOpen, nil
	}
	for {
		cell, rest, ok, bad := s.cut(line)
		if bad != nil {
			return notOpen, bad
		}
		if !ok {
			return len(s.cells), nil
		}
		s.cells = append(s.cells, cell)
		if rest == nil {
			return notOpen, nil
		}
		line = rest[1:] // behind the comma
	}
}

func (s *splitter) splitPlain(line []byte) {
	from := 0
	for i, c := range line {
		if c == ',' {
			s.cells = append(s.cells, line[from:i])
			from = i + 1
		}
	}
	s.cells = append(s.cells, line[from:])
}

// cut takes the first cell off a line with quotes. rest begins with the comma
// behind it, or is nil at the end; ok is false if the quotes are not closed.
func (s *splitter) cut(line []byte) (cell, rest []byte, ok bool, bad *problem) {
	if len(line) == 0 || line[0] != '"' {
		cell, rest = line, nil
		if i := bytes.IndexByte(line, ','); i >= 0 {
			cell, rest = line[:i], line[i:]
		}
		if bytes.IndexByte(cell, '"') >= 0 {
			return nil, nil, false, &problem{want: "quotes around a whole cell only", found: show(cell),
				remedy: "put the cell in quotes and double those inside it"}
		}
		return cell, rest, true, nil
	}
	return s.cutQuoted(line[1:])
}

func (s *splitter) cutQuoted(text []byte) (cell, rest []byte, ok bool, bad *problem) {
	from := len(s.plain)
	for {
		i := bytes.IndexByte(text, '"')
		if i < 0 {
			return nil, nil, false, nil
		}
		s.plain = append(s.plain, text[:i]...)
		text = text[i+1:]
		if len(text) == 0 {
			return s.plain[from:], nil, true, nil
		}
		switch text[0] {
		case ',':
			return s.plain[from:], text, true, nil
		case '"':
			s.plain = append(s.plain, '"')
			text = text[1:]
		default:
			return nil, nil, false, &problem{want: "a comma or the line's end behind a closing quote",
				found: show(text), remedy: "double the quotes inside a quoted cell"}
		}
	}
}

// maxDigits is how many decimal digits an int64 surely holds.
const maxDigits = 18

// parseInt reads an optional minus and decimal digits, nothing else. ok is
// false for other text and for what has more digits than an int64 surely holds.
func parseInt(cell []byte) (n int64, ok bool) {
	text, negative := cell, false
	if len(text) > 0 && text[0] == '-' {
		text, negative = text[1:], true
	}
	if len(text) == 0 || len(text) > maxDigits {
		return 0, false
	}
	for _, c := range text {
		d := c - '0' // wraps to above 9 for what sorts before '0'
		if d > 9 {
			return 0, false
		}
		n = n*10 + int64(d)
	}
	if negative {
		n = -n
	}
	return n, true
}
