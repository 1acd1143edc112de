//go:build reference

package pack

import (
	"bytes"
	"encoding/hex"
	"encoding/json"
	"math"
	"math/rand/v2"
	"os/exec"
	"testing"
)

// Held against a reader written from the package comment alone, in Python with nothing
// but its standard zlib and struct: another DEFLATE, another language's division.

const reader = `
import json, struct, sys, zlib

M = 1 << 64

def signed(u):
    u %= M
    return u - M if u >= M // 2 else u

def uvarint(b, at):
    u = shift = 0
    while True:
        c = b[at]; at += 1
        u |= (c & 0x7f) << shift
        shift += 7
        if c < 0x80:
            return u, at

def zigzag(b, at):
    u, at = uvarint(b, at)
    return (u >> 1 if u % 2 == 0 else -(u + 1) // 2), at

def rank(bits):
    b = signed(bits)
    return b if b >= 0 else signed(b ^ (2**63 - 1))

def payload(coding, b):
    if coding & 8:
        z = zlib.decompressobj(-15)
        b = z.decompress(b)
        assert z.eof and not z.unused_data
    return b

def ints(b):
    coding = b[0]
    n, at = uvarint(b, 1)
    if n == 0:
        assert at == len(b)
        return []
    b = payload(coding, b[at:])
    base, at = zigzag(b, 0)
    step, at = uvarint(b, at)
    order = coding & 7
    if order == 0:
        v = []
        for _ in range(n):
            u, at = uvarint(b, at)
            v.append(signed(base + step * u))
    else:
        v, d = [base], 0
        for _ in range(n - 1):
            e, at = zigzag(b, at)
            d = step * e + (d if order == 2 else 0)
            v.append(signed(v[-1] + d))
    assert at == len(b)
    return v

def bits(f):
    return struct.unpack('>Q', struct.pack('>d', f))[0]

def floats(b):
    "gives the 64 bits of each value"
    coding = b[0]
    n, at = uvarint(b, 1)
    b = b[at:]
    if n == 0:
        assert not b
        return []
    if coding == 0x20:
        scale, at = uvarint(b, 0)
        return [bits(float(k) / float(scale)) for k in ints(b[at:])]
    if coding == 0x21:
        scale, at = uvarint(b, 0)
        size, at = uvarint(b, at)
        near = [rank(bits(float(k) / float(scale))) for k in ints(b[at:at + size])]
        return [rank(signed(a + off)) % M for a, off in zip(near, ints(b[at + size:]))]
    if coding == 0x22:
        size, at = uvarint(b, 0)
        distinct = ints(b[at:at + size])
        return [rank(distinct[p]) % M for p in ints(b[at + size:])]
    b = payload(coding, b)
    assert coding & ~8 == 0x23 and len(b) == 8 * n
    v, last = [], 0
    for i in range(n):
        last ^= int.from_bytes(bytes(b[p * n + i] for p in range(8)), 'big')
        v.append(last)
    return v

def bools(b):
    coding = b[0]
    n, at = uvarint(b, 1)
    b = payload(coding, b[at:])
    assert coding & ~8 == 0x30 and len(b) == (n + 7) // 8
    return [b[i // 8] >> i % 8 & 1 for i in range(n)]

for c in json.load(sys.stdin):
    b = bytes.fromhex(c)
    v = {1: ints, 2: floats, 3: bools}[b[0] >> 4](b)
    print(' '.join(str(x) for x in v))
`

func TestAgainstPython(t *testing.T) {
	var blobs []string
	var want [][]byte
	seen := map[byte]int{}
	put := func(b []byte, n int, at func(i int) any) {
		seen[b[0]]++
		blobs = append(blobs, hex.EncodeToString(b))
		var line bytes.Buffer
		for i := range n {
			if i > 0 {
				line.WriteByte(' ')
			}
			text, err := json.Marshal(at(i))
			if err != nil {
				t.Fatal(err)
			}
			line.Write(text)
		}
		want = append(want, line.Bytes())
	}
	ints := func(v []int64) { put(Ints(v), len(v), func(i int) any { return v[i] }) }
	floats := func(v []float64) {
		for _, f := range []func([]float64) []byte{Floats, scaled, near, dictionary, raw} {
			if b := f(v); b != nil {
				put(b, len(v), func(i int) any { return math.Float64bits(v[i]) })
			}
		}
	}
	for _, n := range []int{1, 2, 10, 3000} {
		for _, c := range columns(n) {
			if c.ints != nil {
				ints(c.ints)
			} else {
				floats(c.floats)
			}
		}
	}
	put(Floats(nil), 0, nil)
	r := rand.New(rand.NewPCG(6, 28))
	for k := range 300 {
		n := r.IntN(40)
		whole, real, yes := make([]int64, n), make([]float64, n+1), make([]bool, n)
		for i := range n {
			whole[i] = int64(r.Uint64())
			if k%3 > 0 { // a few bits, from either end
				whole[i] = whole[i] >> (40 + k%20) << (k % 40)
			}
			yes[i] = r.IntN(1+k%5) == 0
		}
		// A walk, whose differences or theirs are small.
		for range k % 4 {
			for i := 1; i < n; i++ {
				whole[i] += whole[i-1]
			}
		}
		for i := range real {
			switch k % 4 {
			case 0:
				real[i] = math.Float64frombits(r.Uint64())
			case 1:
				real[i] = float64(r.Int64N(1e6)-5e5) / math.Pow10(k%10)
			case 2:
				real[i] = []float64{math.NaN(), math.Inf(-1), math.Copysign(0, -1), math.Pi}[r.IntN(4)]
			case 3:
				real[i] = float64(r.IntN(90)) + float64(r.IntN(600_000))/1e4/60
			}
		}
		ints(whole)
		floats(real)
		put(Bools(yes), n, func(i int) any {
			if yes[i] {
				return 1
			}
			return 0
		})
	}
	white := make([]int64, 3000)
	for i := range white {
		white[i] = r.Int64N(100)
	}
	ints(white)
	put(Bools(make([]bool, 5000)), 5000, func(int) any { return 0 })
	for _, code := range []byte{0x10, 0x11, 0x12, 0x18, 0x19, 0x1a, 0x20, 0x21, 0x22, 0x23, 0x2b, 0x30, 0x38} {
		if seen[code] == 0 {
			t.Errorf("no column has coding %02x", code)
		}
	}

	in, err := json.Marshal(blobs)
	if err != nil {
		t.Fatal(err)
	}
	var out []byte
	for _, program := range []string{"/usr/bin/python3", "python3"} {
		cmd := exec.Command(program, "-c", reader)
		cmd.Stdin = bytes.NewReader(in)
		var complaints bytes.Buffer
		cmd.Stderr = &complaints
		if out, err = cmd.Output(); err == nil {
			break
		}
		t.Logf("%s: %v: %s", program, err, complaints.String())
	}
	if err != nil {
		t.Fatalf("python3: %v: install python3", err)
	}
	got := bytes.Split(bytes.TrimSuffix(out, []byte("\n")), []byte("\n"))
	if len(got) != len(want) {
		t.Fatalf("%d columns read, want %d", len(got), len(want))
	}
	for i := range want {
		if !bytes.Equal(got[i], want[i]) {
			t.Errorf("column %d, coding %s: %.100s, want %.100s", i, blobs[i][:2], got[i], want[i])
		}
	}
	t.Logf("%d columns, by coding %v", len(want), seen)
}
