// Package pack keeps a column of numbers in few bytes and gives back every bit of it:
// instants, positions, depths as an instrument writes them, once a second for years. It
// knows nothing of what the numbers mean.
//
// [Ints], [Floats] and [Bools] pack, [DecodeInts], [DecodeFloats] and [DecodeBools]
// unpack. Each blob is for itself. On made columns of a day (BenchmarkPack) an instant
// takes under 0.01 bytes, a latitude of 7 decimals 0.7, with 0.2 m of noise from fix to fix
// 1.1, a depth 0.4 to 0.5. What is left is the noise of the instrument.
//
// A blob has no checksum: a changed byte may give other numbers instead of an error.
// Who keeps blobs on a medium that may change bytes must add one.
//
// # Format
//
// A byte is written in hexadecimal. Three kinds of number occur:
//
//   - uvarint: a whole number from 0 to 2^64-1, seven bits a byte, the lowest first;
//     every byte but the last has its high bit (80) set. The last byte is not 00 unless
//     it is the only one. 300 is ac 02.
//   - zigzag: a whole number x from -2^63 to 2^63-1, written as the uvarint 2x if x >= 0
//     and -2x-1 if x < 0: 0, -1, 1, -2 are 00, 01, 02, 03.
//   - the rank of a float64: with b its 64 bits (IEEE 754 binary64) read as a signed
//     whole number, the rank is b if b >= 0, and b with its low 63 bits inverted if
//     b < 0. So +0 has rank 0, -0 has -1, and neighbours differ by 1. The same step
//     leads back.
//
// All arithmetic on whole numbers is modulo 2^64, results read as -2^63 to 2^63-1.
//
// Every blob is
//
//	coding    1 byte
//	count     uvarint, number of values, at most 2^26 = 67,108,864
//	payload   to the end of the blob; nothing when count is 0
//
// There is nothing after the payload. The codings are
//
//	10 11 12  whole numbers, differences of order 0, 1, 2
//	18 19 1a  the same, deflated
//	20        float64: fractions
//	21        float64: near fractions
//	22        float64: few distinct values
//	23        float64: raw
//	2b        the same, deflated
//	30        yes and no
//	38        the same, deflated
//
// In a deflated blob the payload is one raw DEFLATE stream (RFC 1951; with zlib,
// inflateInit2 with windowBits -15). Inflated it is the payload of the coding 8 lower.
// "Blob" below is a whole one of this same form, with coding and count.
//
// Whole numbers (10 11 12):
//
//	base      zigzag
//	step      uvarint
//	order 0:  count uvarints u; value = base + step*u
//	order 1:  count-1 zigzags d; the first value is base, each further one is the
//	          one before + step*d
//	order 2:  count-1 zigzags e; a difference D starts at 0; the first value is base;
//	          for each e, D grows by step*e and the next value is the one before + D
//
// Fractions (20):
//
//	scale     uvarint, from 1 to 2^53
//	k         blob of whole numbers, count of them, none beyond -2^53 or 2^53
//
// The value is float64(k) divided by float64(scale), rounded to nearest even as any
// binary64 division is.
//
// Near fractions (21):
//
//	scale     uvarint, from 1 to 2^53
//	length    uvarint, bytes of the blob k
//	k         as in 20
//	off       blob of whole numbers, count of them
//
// The value is the float64 whose rank is the rank of k/scale plus off.
//
// Few distinct values (22):
//
//	length    uvarint, bytes of the blob distinct
//	distinct  blob of whole numbers, at most count: ranks
//	places    blob of whole numbers, count of them, each from 0 to the number of
//	          distinct - 1
//
// The value is the float64 whose rank stands at the place, counted from 0.
//
// Raw (23): 8*count bytes. Byte p*count + i, for p from 0 to 7, is byte p of word i, the
// most significant byte being 0. The bits of value i are word 0 XOR word 1 ... XOR word i.
//
// Yes and no (30): (count+7)/8 bytes, rounded down. Value i is bit i mod 8, the lowest
// being 0, of byte i/8; 1 is yes. Bits after the last value are 0.
//
// # Worked example
//
// The column 1000, 2000, 3000, 5000 of whole numbers, its differences being 1, 1 and 2
// steps of 1000:
//
//	11        coding: whole numbers, order 1
//	04        count
//	d0 0f     base 1000: zigzag 2000 = 50 + 0f*80
//	e8 07     step 1000 = 68 + 07*80
//	02 02 04  1, 1, 2 as zigzag
//
// The column 1.5, 1.25, 1.5 of float64, in hundredths 150, 125, 150:
//
//	20        coding: fractions
//	03        count
//	64        scale 100
//	11        coding: whole numbers, order 1
//	03        count
//	ac 02     base 150: zigzag 300 = 2c + 02*80
//	19        step 25
//	01 02     -1, 1 as zigzag
//
// The column yes, no, yes, yes: 30 04 0d, since 0d = 1 + 4 + 8.
//
// A writer is free to choose among codings, and readers must take them all. What
// this package's own writer chooses stands at the top of ints.go and at [Floats].
//
// Sources: Deutsch, RFC 1951, "DEFLATE compressed data format specification" (1996);
// IEEE 754-2019, section 3.4 (bits of a binary64) and 5.4.1 (division). uvarint and zigzag
// are common practice.
package pack
