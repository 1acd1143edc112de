//go:build reference

package leeway

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"strings"
	"testing"
)

// Held against rlm of R's package MASS (Debian's r-cran-mass) on made data with gross errors.
// Both go on until nothing changes any more: acc is the same relative change.
const rlm = `
if (!requireNamespace("MASS", quietly = TRUE)) { cat("no MASS"); quit() }
d <- read.csv(file("stdin"))
for (k in unique(d$set)) for (psi in c(MASS::psi.huber, MASS::psi.bisquare)) {
  f <- MASS::rlm(y ~ x1 + x2 + x3, d[d$set == k, ], psi = psi, acc = 1e-12, maxit = 200)
  cat(sprintf("%.12g", c(coef(f), f$s)), "\n")
}
`

func TestAgainstRLMMade(t *testing.T) {
	rng := rand.New(rand.NewPCG(1345, 4685))
	const sets = 40
	var in strings.Builder
	in.WriteString("set,x1,x2,x3,y\n")
	var x [sets][][]float64
	var y [sets][]float64
	for k := range sets {
		for range 25 + rng.IntN(60) {
			row := []float64{rng.NormFloat64(), 3 + rng.NormFloat64(), rng.Float64()}
			v := 1 + 2*row[0] - row[1] + 0.5*row[2] + 0.3*rng.NormFloat64()
			if rng.IntN(8) == 0 {
				v += 5 * rng.NormFloat64()
			}
			x[k], y[k] = append(x[k], row), append(y[k], v)
			fmt.Fprintf(&in, "%d,%.17g,%.17g,%.17g,%.17g\n", k, row[0], row[1], row[2], v)
		}
	}
	cmd := exec.Command("Rscript", "--vanilla", "-e", rlm)
	cmd.Stdin = strings.NewReader(in.String())
	var stderr bytes.Buffer
	cmd.Stderr = &stderr
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("Rscript: %v: %s: install r-base-core", err, &stderr)
	}
	if string(out) == "no MASS" {
		t.Skip("R has no package MASS: install r-cran-mass")
	}
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	if len(lines) != 2*sets {
		t.Fatalf("%d lines from R, want %d", len(lines), 2*sets)
	}
	for i, line := range lines {
		w := huber(1.345)
		if i%2 == 1 {
			w = tukey(4.685)
		}
		task := linear(x[i/2], y[i/2], w, 1e-12)
		f, ok := task.from(task.squares())
		want := strings.Fields(line)
		if !ok || len(want) != 5 {
			t.Fatalf("set %d: %v, %q", i/2, ok, line)
		}
		// Twelve digits are printed; two programs that both stand still to 1e-12 of the
		// residuals agree to about that over 1 less the rate of convergence.
		for j, got := range append(f.beta, f.scale) {
			if math.Abs(got-number(t, want[j])) > 1e-8 {
				t.Errorf("set %d, fit %d: number %d is %.12g, want %s", i/2, i%2, j, got, want[j])
			}
		}
	}
}
