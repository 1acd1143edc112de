package csvfile

import (
	"strconv"
	"strings"

	"leadline/ingest/si"
)

// pow10 are the powers of ten that a float64 holds exactly.
var pow10 = [...]float64{1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15}

// fastFloat reads a plain decimal number of at most 15 digits. Its digits and the
// power of ten are exact in a float64, so one division rounds once and the result
// is that of strconv.ParseFloat, bit for bit (W. Clinger, How to read floating
// point numbers accurately, 1990, section 4). ok is false for any other text.
func fastFloat(s string) (v float64, ok bool) {
	i, negative := 0, false
	if s != "" && (s[0] == '-' || s[0] == '+') {
		negative = s[0] == '-'
		i = 1
	}
	n, count, point := uint64(0), 0, -1
	for ; i < len(s); i++ {
		c := s[i]
		if c == '.' && point < 0 {
			point = count
			continue
		}
		if c -= '0'; c > 9 {
			return 0, false
		}
		n = n*10 + uint64(c)
		if count++; count > 15 {
			return 0, false
		}
	}
	if count == 0 {
		return 0, false
	}
	v = float64(n)
	if point >= 0 {
		v /= pow10[count-point]
	}
	if negative {
		v = -v
	}
	return v, true
}

// parseFloat reads a decimal number as strconv.ParseFloat does, but takes none
// of its words and other bases.
func parseFloat(s string) (float64, bool) {
	if v, ok := fastFloat(s); ok {
		return v, true
	}
	for i := range len(s) {
		if c := s[i]; (c < '0' || c > '9') && c != '+' && c != '-' && c != '.' && c != 'e' && c != 'E' {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil
}

// number reads a decimal number. A comma is a decimal point where commas don't
// separate cells; with both in one number there is no telling, and it is none.
func (t *table) number(cell string) (float64, bool) {
	if v, ok := fastFloat(cell); ok {
		return v, true
	}
	if t.delimiter != ',' && strings.IndexByte(cell, ',') >= 0 {
		if strings.IndexByte(cell, '.') >= 0 {
			return 0, false
		}
		cell = strings.Replace(cell, ",", ".", 1)
	}
	return parseFloat(cell)
}

// decimals counts the digits behind the point or comma of a number.
func decimals(cell string) int {
	i := strings.IndexAny(cell, ".,")
	if i < 0 {
		return 0
	}
	n := 0
	for _, c := range []byte(cell[i+1:]) {
		if c < '0' || c > '9' {
			break
		}
		n++
	}
	return n
}

// factor is a unit in numbers: SI is (value + shift) * scale. Package si looks its
// units up by name, which costs more than all the rest of a cell.
type factor struct {
	shift, scale float64
	ok           bool
}

// factorOf finds the numbers of a unit by trying it; it is not ok when they don't
// give what Convert gives, to the bit.
func factorOf(q *si.Quantity, unit string) (f factor) {
	at := func(v float64) float64 { x, _ := q.Convert(v, unit); return x }
	for _, shift := range [...]float64{0, -32} {
		f = factor{shift: shift, scale: at(1 - shift), ok: true}
		for _, v := range [...]float64{0, 1, -1, 32, 63.5, 1e-9, 12345.678} {
			f.ok = f.ok && f.of(v) == at(v)
		}
		if f.ok {
			return f
		}
	}
	return factor{}
}

func (f factor) of(v float64) float64 { return (v + f.shift) * f.scale }

// digits reads a short run of digits; ok is false for anything else.
func digits(s string) (v int, ok bool) {
	if s == "" || len(s) > 9 {
		return 0, false
	}
	for i := range len(s) {
		c := s[i] - '0'
		if c > 9 {
			return 0, false
		}
		v = v*10 + int(c)
	}
	return v, true
}
