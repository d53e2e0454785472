package importers

import (
	"math"
	"strconv"
)

// exactPow10 holds the powers of ten that a float64 represents exactly.
var exactPow10 = [...]float64{
	1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11,
	1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22,
}

// fastNumber reads the decimal number that starts at b[i] and returns the index of the
// first byte after it. ok is false where the exact path does not apply: then the caller
// hands the cell to strconv. b must end in a byte that is no digit.
//
// A mantissa of at most 2^53 and a power of ten of at most 22 are both exact in a
// float64, so that one multiplication or division rounds once, as strconv does (Clinger
// 1990, "How to read floating point numbers accurately").
func fastNumber(b []byte, i int, dec byte) (v float64, next int, ok bool) {
	neg := false
	if c := b[i]; c == '-' || c == '+' {
		neg = c == '-'
		i++
	}
	var m uint64
	start := i
	for ; b[i]-'0' <= 9; i++ {
		m = m*10 + uint64(b[i]-'0')
	}
	digits, frac := i-start, 0
	if b[i] == dec {
		i++
		point := i
		for ; b[i]-'0' <= 9; i++ {
			m = m*10 + uint64(b[i]-'0')
		}
		frac = i - point
		digits += frac
	}
	if digits == 0 || digits > 18 || m > 1<<53 {
		return 0, i, false
	}
	if b[i]|0x20 == 'e' {
		return withExponent(b, i+1, m, frac, neg)
	}
	v = float64(m)
	if frac > 0 {
		v /= exactPow10[frac]
	}
	if neg {
		v = -v
	}
	return v, i, true
}

// withExponent finishes a number whose mantissa is m and frac digits behind the point.
func withExponent(b []byte, i int, m uint64, frac int, neg bool) (v float64, next int, ok bool) {
	e, i, ok := fastExponent(b, i)
	if !ok {
		return 0, i, false
	}
	v = float64(m)
	switch e -= frac; {
	case e < 0 && e >= -22:
		v /= exactPow10[-e]
	case e >= 0 && e <= 22:
		v *= exactPow10[e]
	default:
		return 0, i, false
	}
	if neg {
		v = -v
	}
	return v, i, true
}

// fastExponent reads the digits after an e; at most three, so that nothing overflows.
func fastExponent(b []byte, i int) (e, next int, ok bool) {
	neg := false
	if c := b[i]; c == '-' || c == '+' {
		neg = c == '-'
		i++
	}
	start := i
	for ; b[i]-'0' <= 9 && i-start < 4; i++ {
		e = e*10 + int(b[i]-'0')
	}
	if i == start || i-start > 3 {
		return 0, i, false
	}
	if neg {
		e = -e
	}
	return e, i, true
}

// slowNumber reads a whole cell with strconv. The cell carries no blanks or quotes
// around it. Hexadecimal numbers and digits grouped by underscores are not taken: no
// logger means a measurement by them.
func slowNumber(cell []byte, dec byte) (float64, bool) {
	var room [64]byte
	if len(cell) == 0 || len(cell) > 400 {
		return math.NaN(), false
	}
	for _, c := range cell {
		if c == '_' || c == 'x' || c == 'X' || (c == '.' && dec != '.') {
			return math.NaN(), false
		}
	}
	if dec != '.' {
		copied := append(room[:0], cell...)
		for i, c := range copied {
			if c == dec {
				copied[i] = '.'
			}
		}
		cell = copied
	}
	v, err := strconv.ParseFloat(string(cell), 64)
	if err != nil && !math.IsInf(v, 0) {
		return math.NaN(), false
	}
	return v, true
}
