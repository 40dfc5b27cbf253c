package forecast

import (
	"context"
	"runtime"
	"sync"
	"sync/atomic"
)

// Each calls f for 0 to n-1, as many at once as there are cores, and returns the first error by number, or
// ctx's when it was stopped. No further call begins after either.
func Each(ctx context.Context, n int, f func(i int) error) error {
	errs := make([]error, n)
	var failed atomic.Bool
	err := share(ctx, 0, n, func() func(i int) bool {
		return func(i int) bool {
			if failed.Load() {
				return false
			}
			if errs[i] = f(i); errs[i] != nil {
				failed.Store(true)
			}
			return true
		}
	})
	if err != nil {
		return err
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// share does the tasks 0 to n-1 on workers, below 1 one for each core; each worker has what it works with made
// by worker. A task that returns false is the worker's last. It returns ctx's error when it was stopped.
func share(ctx context.Context, workers, n int, worker func() func(k int) bool) error {
	if workers < 1 {
		workers = runtime.GOMAXPROCS(0)
	}
	var next atomic.Int64
	var wg sync.WaitGroup
	for range min(n, workers) {
		wg.Go(func() {
			for do := worker(); ; {
				k := int(next.Add(1) - 1)
				if k >= n || ctx.Err() != nil || !do(k) {
					return
				}
			}
		})
	}
	wg.Wait()
	return ctx.Err()
}
