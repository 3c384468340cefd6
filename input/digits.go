package input

import (
	"encoding/binary"
	"math"
	"math/bits"
)

// wordBytes is how many bytes of a text are looked at at once, as one number that
// has the first of them lowest.
const wordBytes = 8

// bytesAt is the bytes that a text begins with, which must have so many.
func bytesAt(text []byte) uint64 { return binary.LittleEndian.Uint64(text) }

// firstBytes has the bits of the first n bytes set, n from 1 to wordBytes.
func firstBytes(n int) uint64 { return math.MaxUint64 >> (8 * (wordBytes - n)) }

// leadingDigits reads the decimal digits that bytes begin with: the number that they
// make, and how many there are.
func leadingDigits(w uint64) (n uint64, count int) {
	const (
		zeros  = 0x3030303030303030 // '0' in every byte
		beyond = 0x7676767676767676 // brings a byte above 9 to 128 and more
		high   = 0x8080808080808080
	)
	w ^= zeros
	others := (w + beyond | w) & high // what is carried only spoils bytes behind the first
	count = bits.TrailingZeros64(others) / 8
	// As zeros in front of them there are eight digits, the first in the lowest byte.
	// Neighbours are taken together, then pairs, then fours.
	w <<= 8 * (wordBytes - count)
	w = (10*w + w>>8) & 0x00ff00ff00ff00ff
	w = (100*w + w>>16) & 0x0000ffff0000ffff
	w = (10_000*w + w>>32) & 0x00000000ffffffff
	return w, count
}

// leadingTime reads the digits that a text begins with, and how many there are. It
// gives none near the text's end, and where there are more than maxDigits.
func leadingTime(text []byte) (us int64, count int) {
	if len(text) < wordBytes {
		return 0, 0
	}
	n, count := leadingDigits(bytesAt(text))
	us = int64(n)
	for ; count < len(text) && text[count]-'0' <= 9; count++ {
		us = 10*us + int64(text[count]-'0')
	}
	if count > maxDigits {
		return 0, 0
	}
	return us, count
}

// plainCounts reads the whole number that bytes begin with, of at most five digits,
// and gives its length; that is 0 where there is none.
func plainCounts(w uint64) (counts int16, size int) {
	sign := 0
	if byte(w) == '-' {
		sign = 1
		w >>= 8
	}
	digits, count := leadingDigits(w)
	n := int(digits)
	if sign > 0 {
		n = -n
	}
	if count == 0 || count > 5 || n < math.MinInt16 || n > math.MaxInt16 {
		return 0, 0
	}
	return int16(n), sign + count
}
