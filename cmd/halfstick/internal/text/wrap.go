package text

import (
	"strings"
	"unicode/utf8"
)

// Wrap breaks running text into lines of at most width letters, each after
// the first behind indent. Words longer than a line stand alone, and a percent
// sign stays with its number.
func Wrap(s string, width int, indent string) string {
	var b strings.Builder
	column := 0
	for _, word := range words(s) {
		letters := utf8.RuneCountInString(word)
		switch {
		case column == 0:
		case column+1+letters > width-len(indent):
			b.WriteString("\n" + indent)
			column = 0
		default:
			b.WriteByte(' ')
			column++
		}
		b.WriteString(word)
		column += letters
	}
	return b.String()
}

// words are what a line may be broken between.
func words(s string) []string {
	var out []string
	for _, word := range strings.Fields(s) {
		if strings.HasPrefix(word, "%") && len(out) > 0 {
			out[len(out)-1] += " " + word
			continue
		}
		out = append(out, word)
	}
	return out
}
