//go:build reference

package drift

import (
	"bufio"
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"strings"
	"testing"

	"gonum.org/v1/gonum/spatial/r2"
)

// Held against GEOS, the library that Debian's python3-shapely brings along (libgeos_c, 3.11 in Debian 12), called by its
// C interface: shapely 1.8 has no name for Fréchet's distance.
//
// Each line of input is two paths and a step. With step 0 GEOS gives their distance as they are. Else it also
// cuts them: it projects the ends of each onto the other, and takes as many points in between as Shared.

const geos = `
import ctypes, math, sys
c = ctypes.CDLL("libgeos_c.so.1")
pointer, number = ctypes.c_void_p, ctypes.c_double

def function(name, result, *arguments):
    f = getattr(c, name)
    f.restype, f.argtypes = result, arguments
    return f

context = function("GEOS_init_r", pointer)()
read = function("GEOSGeomFromWKT_r", pointer, pointer, ctypes.c_char_p)
free = function("GEOSGeom_destroy_r", None, pointer, pointer)
frechet = function("GEOSFrechetDistance_r", ctypes.c_int, pointer, pointer, pointer, ctypes.POINTER(number))
project = function("GEOSProject_r", number, pointer, pointer, pointer)
interpolate = function("GEOSInterpolate_r", pointer, pointer, pointer, number)
x_of = function("GEOSGeomGetX_r", ctypes.c_int, pointer, pointer, ctypes.POINTER(number))
y_of = function("GEOSGeomGetY_r", ctypes.c_int, pointer, pointer, ctypes.POINTER(number))

def geometry(wkt):
    g = read(context, wkt.encode())
    if not g:
        sys.exit("GEOS can't read " + wkt)
    return g

def line(points):
    return geometry("LINESTRING (" + ", ".join("%r %r" % p for p in points) + ")")

def distance(a, b):
    d = number()
    if frechet(context, a, b, ctypes.byref(d)) != 1:
        sys.exit("GEOS gives no distance")
    return d.value

def along(g, p):
    at = geometry("POINT (%r %r)" % p)
    d = project(context, g, at)
    free(context, at)
    return d

def place(g, m):
    p, x, y = interpolate(context, g, m), number(), number()
    if not p or x_of(context, p, ctypes.byref(x)) != 1 or y_of(context, p, ctypes.byref(y)) != 1:
        sys.exit("GEOS finds no place")
    free(context, p)
    return x.value, y.value

def stretch(g, start, end, n):
    return line([place(g, start + (end - start) * k / (n - 1)) for k in range(n)])

for row in sys.stdin:
    first, second, step = row.split(";")
    paths = [[tuple(map(float, p.split())) for p in path.split(",")] for path in (first, second)]
    a, b, step = line(paths[0]), line(paths[1]), float(step)
    if step == 0:
        print(distance(a, b))
    else:
        cut = [along(a, paths[1][0]), along(a, paths[1][-1]), along(b, paths[0][0]), along(b, paths[0][-1])]
        if cut[1] <= cut[0] or cut[3] <= cut[2]:
            print("none")
        else:
            n = math.ceil(max(cut[1] - cut[0], cut[3] - cut[2]) / step) + 1
            onA, onB = stretch(a, cut[0], cut[1], n), stretch(b, cut[2], cut[3], n)
            print(n, *cut, distance(onA, onB))
            free(context, onA)
            free(context, onB)
    free(context, a)
    free(context, b)
`

// askGEOS returns what GEOS says of pairs of paths, a line for each.
func askGEOS(t *testing.T, pairs [][2][]r2.Vec, stepM float64) (lines []string) {
	var in bytes.Buffer
	text := func(path []r2.Vec) string {
		var points []string
		for _, v := range path {
			points = append(points, fmt.Sprintf("%v %v", v.X, v.Y)) // the shortest digits that come back as the same number
		}
		return strings.Join(points, ",")
	}
	for _, p := range pairs {
		fmt.Fprintf(&in, "%s;%s;%v\n", text(p[0]), text(p[1]), stepM)
	}
	var out []byte
	var err error
	// Another Python may come first on the path; Debian's packages belong to its own.
	for _, program := range []string{"/usr/bin/python3", "python3"} {
		cmd := exec.Command(program, "-c", geos)
		cmd.Stdin = bytes.NewReader(in.Bytes())
		if out, err = cmd.Output(); err == nil {
			break
		}
	}
	if err != nil {
		t.Fatalf("python3 with GEOS: %v: install python3-shapely", err)
	}
	for s := bufio.NewScanner(bytes.NewReader(out)); s.Scan(); {
		lines = append(lines, s.Text())
	}
	if len(lines) != len(pairs) {
		t.Fatalf("%d answers to %d questions", len(lines), len(pairs))
	}
	return lines
}

func TestFrechetAgainstGEOS(t *testing.T) {
	rng := rand.New(rand.NewPCG(81, 1))
	var pairs [][2][]r2.Vec
	for range 400 {
		pairs = append(pairs, [2][]r2.Vec{wandering(rng, 2+rng.IntN(60)), wandering(rng, 2+rng.IntN(60))})
	}
	for k, said := range askGEOS(t, pairs, 0) {
		var want float64
		if _, err := fmt.Sscan(said, &want); err != nil {
			t.Fatal(err)
		}
		if got := Frechet(pairs[k][0], pairs[k][1]); math.Abs(got-want) > 1e-9 {
			t.Errorf("pair %d: %v, GEOS has %v", k, got, want)
		}
	}
}

// Passes of one line, in parts and of other directions. Both sides sum lengths of some 10² m, piece by piece:
// 1e-9 m leaves room for their rounding.
func TestSharedAgainstGEOS(t *testing.T) {
	const stepM = 5
	rng := rand.New(rand.NewPCG(82, 1))
	var pairs [][2][]r2.Vec
	for k := range 400 {
		l := trueLine{towardDeg: 360 * rng.Float64(), lengthM: 90 + 100*rng.Float64()}
		a := drifted(rng, l).piece(0.4*rng.Float64(), 0.6+0.4*rng.Float64())
		if k%4 == 0 {
			l.towardDeg += 360 * rng.Float64()
		}
		b := drifted(rng, l).piece(0.4*rng.Float64(), 0.6+0.4*rng.Float64())
		pairs = append(pairs, [2][]r2.Vec{a.Path, b.Path})
	}
	shared := 0
	for k, said := range askGEOS(t, pairs, stepM) {
		a, b := pairs[k][0], pairs[k][1]
		onA, onB, ok := Shared(a, b, stepM)
		if ok != (said != "none") {
			t.Errorf("pair %d shares a stretch: %v, GEOS says %s", k, ok, said)
		}
		if !ok || said == "none" {
			continue
		}
		shared++
		var n int
		var cut common
		var want float64
		if _, err := fmt.Sscan(said, &n, &cut.aFrom, &cut.aTo, &cut.bFrom, &cut.bTo, &want); err != nil {
			t.Fatal(err)
		}
		got, _ := sharedBy(a, b)
		off := max(math.Abs(got.aFrom-cut.aFrom), math.Abs(got.aTo-cut.aTo), math.Abs(got.bFrom-cut.bFrom), math.Abs(got.bTo-cut.bTo))
		if off > 1e-9 || len(onA) != n || math.Abs(Frechet(onA, onB)-want) > 1e-9 {
			t.Errorf("pair %d: %+v, %d points, %v m apart; GEOS has %s", k, got, len(onA), Frechet(onA, onB), said)
		}
	}
	if shared < 300 {
		t.Errorf("%d pairs share a stretch, which shows little", shared)
	}
}
