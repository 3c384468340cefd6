package input

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// All counts are read as they are written, whatever ends them, with leading zeros and
// without; nothing else is.
func TestPlainCountsAreWholeNumbers(t *testing.T) {
	number := rapid.StringMatching(`-?[0-9]{1,8}`)
	odd := rapid.StringMatching(`[-+]{0,2}[0-9]{0,6}[,.x \n"/:-]`)
	rapid.Check(t, func(t *rapid.T) {
		cell := rapid.OneOf(number, number, odd).Draw(t, "cell")
		text := cell + rapid.SampledFrom([]string{",", "\n", "\r", "x", "\xff", "/", ":"}).Draw(t, "end")
		text += rapid.StringOfN(rapid.RuneFrom([]rune("0123456789-,")), wordBytes, wordBytes, -1).Draw(t, "behind")
		digits := strings.TrimPrefix(text, "-")
		digits = digits[:len(digits)-len(strings.TrimLeft(digits, "0123456789"))]
		size := len(text) - len(strings.TrimPrefix(text, "-")) + len(digits)
		want, ok := parseInt([]byte(text[:size]))
		if !ok || len(digits) > 5 || want < math.MinInt16 || want > math.MaxInt16 {
			want, size = 0, 0
		}
		if got, gotSize := plainCounts(bytesAt([]byte(text))); int64(got) != want || gotSize != size {
			t.Fatalf("%q: %d in %d bytes, want %d in %d", text, got, gotSize, want, size)
		}
	})
}

// Times of up to maxDigits digits are read as they are written.
func TestLeadingTimeIsAWholeNumber(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		digits := rapid.StringMatching(`[0-9]{0,25}`).Draw(t, "digits")
		text := digits + rapid.StringMatching(`[,x/:-][0-9,-]{0,17}`).Draw(t, "behind")
		want, ok := parseInt([]byte(digits))
		count := len(digits)
		if !ok || len(text) < wordBytes {
			want, count = 0, 0
		}
		if got, gotCount := leadingTime([]byte(text)); got != want || gotCount != count {
			t.Fatalf("%q: %d in %d digits, want %d in %d", text, got, gotCount, want, count)
		}
	})
}

func TestFirstBytes(t *testing.T) {
	text := []byte("-32768,\n")
	for n := 1; n <= wordBytes; n++ {
		var want [wordBytes]byte
		copy(want[:], text[:n])
		if got := bytesAt(text) & firstBytes(n); got != bytesAt(want[:]) {
			t.Errorf("%d bytes: %#x, want %#x", n, got, bytesAt(want[:]))
		}
	}
}
