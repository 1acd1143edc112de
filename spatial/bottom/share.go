package bottom

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// shareOut does n pieces of work, some at once, on all processors. Each runs do, which asks next for
// the pieces to do, from one up to another, until there are none: from is to. What a piece gives must
// not hang on who does it, nor when. The error is that of ctx, when it ended before.
func shareOut(ctx context.Context, n, some int, do func(next func() (from, to int))) error {
	var taken atomic.Int64
	next := func() (from, to int) {
		if ctx.Err() != nil {
			return n, n
		}
		to = int(taken.Add(int64(some)))
		return min(n, to-some), min(n, to)
	}
	workers := min(runtime.GOMAXPROCS(0), (n+some-1)/some)
	if workers == 1 {
		do(next)
		return ctx.Err()
	}
	var wg sync.WaitGroup
	for range workers {
		wg.Go(func() { do(next) })
	}
	wg.Wait()
	return ctx.Err()
}

// inParts does n pieces of work, some at once, on all processors: do gets them from one up to another.
func inParts(n int, do func(from, to int)) {
	const parts = 64 // so that none waits long for the last
	shareOut(context.Background(), n, n/parts+1, func(next func() (from, to int)) {
		for from, to := next(); from < to; from, to = next() {
			do(from, to)
		}
	})
}
